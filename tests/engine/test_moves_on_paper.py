"""Parts that move, worked out by hand: a rotation of tyres, a spare rebuilt on the shelf."""

import datetime
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, assume, given, settings

from maintenance.engine.days import to_day
from maintenance.engine.due import due_items
from maintenance.engine.working import explain
from tests.engine.agreement import agreed, ask_engine
from tests.engine.columns_from_history import fleet_of
from tests.engine.on_paper import CAR, RULE
from tests.reference.dates import day, iso
from tests.strategies import Case, fleets

ON = "2026-11-25"
WEAR = {
    "quantity": "tread_depth", "unit": "mm", "new": Decimal(8), "minimum": Decimal(2),
}  # fmt: skip


def place(position, **said):
    return {"kind": "tyre", "position": position, **said}


def entry(position, action, **said):
    return {"kind": "tyre", "position": position, "action": action, **said}


def moved(position, to, vehicle=None):
    there = {"position": to} | ({"vehicle": vehicle} if vehicle else {})
    return entry(position, "move", to=there)


def tread(position, value):
    measured = {"quantity": "tread_depth", "value": Decimal(value), "unit": "mm"}
    return entry(position, "measure", measurement=measured)


def happened(on, *entries):
    return {"on": on, "odometer": None, "entries": list(entries)}


def read(on, value):
    return {"on": on, "value": value}


def a_car(mark, places, *events, **said):
    described = {"registration": mark, "components": list(places), "service_events": list(events)}
    return CAR | described | said


def ask(vehicle, rule, *others, on=ON):
    """What both readings of the rules say of each tyre of a car."""
    rules = [
        (RULE | {"kind": "tyre"} | rule, [("tyre", p["position"]) for p in vehicle["components"]])
    ]
    items = agreed(Case(vehicle, rules, None, on, [vehicle, *others]))
    return {item["position"]: item for item in items}


AXLES = (place("front"), place("rear"))
EXCHANGED = happened("2025-01-01", moved("front", "rear"), moved("rear", "front"))


def test_tread_and_distance_follow_a_tyre_from_the_front_axle_to_the_rear():
    # The front tyre is new at 10 000 km and has lost 3 of its 8 mm by 16 000 km, the rear one 1 mm;
    # from there on the old front tyre wears at the rear, and is at 4.5 mm after 9 000 km.
    car = a_car(
        "EX-1",
        AXLES,
        happened("2024-01-01", entry("front", "renew"), entry("rear", "renew")),
        happened("2025-01-01", tread("front", 5), tread("rear", 7), *EXCHANGED["entries"]),
        happened("2026-01-01", tread("rear", "4.5")),
        odometer_readings=[
            read("2024-01-01", 10_000), read("2025-01-01", 16_000), read("2026-01-01", 19_000),
        ],
    )  # fmt: skip
    items = ask(car, {"wear": WEAR, "criticality": "appearance"})
    # Least squares through 8 mm: (6 000 × 3 + 9 000 × 3.5) ÷ (6 000² + 9 000²) = 0.000423 mm a km,
    # so 2 mm are reached after 14 182 km: 5 182 km more at 3 000 km in 365 days, 631 days after
    # 1 January 2026.
    assert items["rear"]["due_on"] == "2027-09-24"
    # The other has lost 1 mm in 6 000 km: 2 mm are reached after 36 000 km, 27 000 km more.
    assert items["front"]["due_on"] == "2034-12-30"


def test_a_rotation_says_in_the_working_where_each_tyre_was():
    car = a_car("EX-1", AXLES, happened("2024-01-01", entry("front", "renew")), EXCHANGED)
    fleet = fleet_of(
        [Case(car, [(RULE | {"kind": "tyre", "months": 72}, [("tyre", "rear")])], None, ON)]
    )
    answer = due_items(fleet.batch, on=to_day(datetime.date.fromisoformat(ON)))
    legs = explain(answer, 0, subject="Tyre").journey
    assert [(leg.place, leg.from_on, leg.until_on, leg.aged_days) for leg in legs] == [
        (0, None, datetime.date(2025, 1, 1), 366),
        (1, datetime.date(2025, 1, 1), None, 693),
    ]


SPARE = (place(""), place("shelf", storage="damp"))


@pytest.fixture
def rebuilt():
    """A part taken off a car, rebuilt after two years in damp storage, and fitted to another."""
    first = a_car(
        "EX-1",
        SPARE,
        happened("2018-01-01", entry("", "renew")),
        happened("2020-01-01", moved("", "shelf")),
        happened("2022-01-01", entry("shelf", "overhaul")),
        happened("2024-01-01", moved("shelf", "", "EX-2")),
        odometer_readings=[read("2018-01-01", 10_000), read("2020-01-01", 24_000)],
    )
    second = a_car(
        "EX-2",
        (place(""),),
        happened("2019-01-01", entry("", "remove")),
        odometer_readings=[read("2024-01-01", 80_000), read("2025-01-01", 83_660)],
    )
    return second, first


def test_a_spare_ages_on_the_shelf_by_the_grade_of_the_store(rebuilt):
    # Overhauled on 1 January 2022, 730 days in damp storage at one and a half make 1 095 aged
    # days by 1 January 2024; 72 months are 2 191 days, so 1 096 days remain.
    items = ask(rebuilt[0], {"task": "overhaul", "months": 72}, rebuilt[1])
    assert items[""]["due_on"] == "2027-01-01"


def test_the_years_on_the_car_before_count_towards_its_renewal(rebuilt):
    # 730 days on the first car, 1 461 in damp storage as 2 191.5, of a limit of 120 months, 3 652:
    # 730.5 remain, which are over on the 731st day after 1 January 2024.
    items = ask(rebuilt[0], {"months": 120}, rebuilt[1])
    assert items[""]["due_on"] == "2026-01-01"


def test_a_spare_has_gone_as_far_as_both_cars_and_goes_on_at_the_pace_of_the_second(rebuilt):
    # 14 000 km on the first car; the other 6 000 from 80 000 km, 10 km a day since 1 January 2024.
    item = ask(rebuilt[0], {"distance_km": 20_000}, rebuilt[1])[""]
    assert (item["due_at_odometer"], item["due_on"]) == (86_000, "2025-08-23")


def test_the_place_it_left_and_the_shelf_are_empty(rebuilt):
    assert ask(rebuilt[1], {"months": 120}, rebuilt[0]) == {}


def test_a_spare_that_stood_long_is_looked_at_on_the_day_it_is_fitted(rebuilt):
    items = ask(rebuilt[0], {"before_use_after_months": 12}, rebuilt[1])
    assert items[""]["due_on"] == "2024-01-01"


def test_on_the_shelf_what_falls_due_is_for_before_use(rebuilt):
    items = ask(rebuilt[1], {"months": 12}, rebuilt[0], on="2023-06-01")
    assert items["shelf"]["status"] == "before_use"


def test_a_shelf_of_which_nothing_is_recorded_is_empty():
    assert set(ask(a_car("EX-1", SPARE), {"months": 12})) == {""}


def test_a_renewed_assembly_brings_new_what_was_on_it_that_day():
    bonnet = {"kind": "hub", "position": ""}
    car = a_car(
        "EX-1",
        (bonnet, place("", assembly=bonnet), place("shelf", storage="dry")),
        happened("2019-01-01", entry("", "renew")),
        happened("2020-01-01", moved("", "shelf")),
        happened("2021-01-01", bonnet | {"action": "renew"}),
    )
    rules = [(RULE | {"kind": "tyre", "months": 12}, [("tyre", ""), ("tyre", "shelf")])]
    found = {item["position"]: item["due_on"] for item in agreed(Case(car, rules, None, ON, [car]))}
    assert found == {"": "2022-01-01", "shelf": "2020-01-01"}


MOVING = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def with_moves(fleet, on, *moves):
    """The first car of a fleet with moves more, the latest of all on record."""
    car = fleet[0].vehicle | {}
    car["service_events"] = [*car["service_events"], *(happened(on, move) for move in moves)]
    others = [other for other in fleet[0].fleet if other is not fleet[0].vehicle]
    return Case(car, fleet[0].rules, fleet[0].regime, fleet[0].on, [car, *others])


def shelved(case):
    """A case with an empty shelf for its first component."""
    kind = case.vehicle["components"][0]["kind"]
    shelf = {"kind": kind, "position": "new shelf", "storage": "outdoors"}
    case.vehicle["components"] = [*case.vehicle["components"], shelf]
    return {"kind": kind, "position": case.vehicle["components"][0]["position"]}


@MOVING
@given(fleets(at_least=1, at_most=1))
def test_a_part_moved_to_and_fro_on_one_day_is_as_if_it_had_stayed(fleet):
    part, (before,) = shelved(fleet[0]), ask_engine(fleet)
    assume(any(item["position"] == part["position"] for item in before))
    away = part | {"action": "move", "to": {"position": "new shelf"}}
    back = part | {
        "position": "new shelf", "action": "move", "to": {"position": part["position"]}
    }  # fmt: skip
    (after,) = ask_engine([with_moves(fleet, fleet[0].on, away, back)])
    assert after == before


@MOVING
@given(fleets(at_least=1, at_most=1))
def test_a_part_on_a_shelf_is_due_by_time_no_later_than_on_a_car_in_use(fleet):
    fleet[0].vehicle["lay_ups"] = []
    part = shelved(fleet[0])
    fleet[0].rules = [
        (rule | {"lay_up": rule["lay_up"]}, [*places, (part["kind"], "new shelf")])
        for rule, places in fleet[0].rules
        if rule["kind"] == part["kind"] and rule["applies"] == "always"
    ]
    (before,) = ask_engine(fleet)
    left = iso(day(fleet[0].on) - 200)
    away = part | {"action": "move", "to": {"position": "new shelf"}}
    case = with_moves(fleet, left, away)
    case.vehicle["service_events"] = [
        event for event in case.vehicle["service_events"] if event["on"] <= left
    ]
    fleet[0].vehicle["service_events"] = case.vehicle["service_events"][:-1]
    (before,), (after,) = ask_engine(fleet), ask_engine([case])
    stayed = {item["rule"]: item for item in before if item["position"] == part["position"]}
    for item in after:
        if item["position"] == "new shelf":
            assert by_time(item) <= by_time(stayed[item["rule"]])


def by_time(item):
    """The day by months, after all days where there is none."""
    days = [row["due_on"] for row in item["criteria"] if row["criterion"] == "time"]
    return (days and days[0]) or "9999"
