import datetime
import json
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from maintenance.services.refusals import Refused
from maintenance.services.trip_check import TripDraft, trip_check
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    FindingFactory,
    InspectionFactory,
    IntervalRuleFactory,
    LayUpFactory,
    OdometerReadingFactory,
    PaperFactory,
    ServiceEventFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2026, 6, 1)
TRIP = TripDraft(
    from_on=datetime.date(2026, 6, 10), to_on=datetime.date(2026, 6, 19), distance=Decimal(2000)
)


@pytest.fixture
def car():
    """A car that covers 10 km a day and was driven 1 000 km since its oil was changed."""
    car = VehicleFactory(inspection_regime="", odometer_digits=6)
    for on, value in ((datetime.date(2026, 2, 21), 50_000), (TODAY, 51_000)):
        OdometerReadingFactory(vehicle=car, on=on, value=Decimal(value))
    return car


def done(car, kind="engine-oil", on=datetime.date(2026, 2, 21), action="renew", **limits):
    """Give the car a component with a rule of its own, last seen to on a day."""
    limits = {"months": None, "distance_km": None, "before_use_after_months": None} | limits
    IntervalRuleFactory(
        collection=car.collection, vehicle=car, kind=kind, task="renew", name=f"{kind} renewal",
        warn_distance_km=Decimal(200), **limits,
    )  # fmt: skip
    component = ComponentFactory(vehicle=car, kind=kind)
    if on is not None:
        EntryFactory(
            event=ServiceEventFactory(vehicle=car, on=on), component=component, action=action
        )
    return component


def items(car, part, trip=TRIP, task="renew", on=TODAY):
    found = trip_check(vehicle=car, trip=trip, on=on)[part]
    return {item["component"]: item for item in found if item["task"] == task}


def test_an_oil_change_due_at_two_thousand_falls_half_way_through_the_trip(car):
    done(car, distance_km=Decimal(2090))
    oil = items(car, "on_the_way")["engine-oil"]
    assert (oil["after_distance"], oil["due_on"]) == (1000, "2026-06-14")


def test_the_distance_to_the_departure_counts_at_the_usual_rate(car):
    done(car, distance_km=Decimal(1089))
    oil = items(car, "before_departure")["engine-oil"]
    assert oil["reason"] == "due_before_departure"


def test_what_the_trip_leaves_within_the_warning_distance_is_due_soon_after_the_return(car):
    done(car, distance_km=Decimal(3290))
    assert items(car, "after_return")["engine-oil"]["reason"] == "due_soon_after_return"


def test_what_is_far_off_by_distance_and_day_is_not_listed(car):
    done(car, distance_km=Decimal(20_000), months=24)
    found = trip_check(vehicle=car, trip=TRIP, on=TODAY)
    parts = ("before_departure", "on_the_way", "after_return")
    listed = [item for part in parts for item in found[part] if item["task"] == "renew"]
    assert listed == []


def test_a_limit_in_months_that_ends_on_the_last_day_falls_due_on_the_way(car):
    done(car, kind="coolant", on=datetime.date(2024, 6, 19), months=24)
    assert items(car, "on_the_way")["coolant"]["due_on"] == "2026-06-19"


def test_the_day_after_the_return_is_no_longer_on_the_way(car):
    done(car, kind="coolant", on=datetime.date(2024, 6, 20), months=24)
    assert items(car, "after_return")["coolant"]["due_on"] == "2026-06-20"


def test_a_component_without_record_is_named_with_what_would_clear_it(car):
    done(car, kind="coolant", on=None, months=24)
    coolant = items(car, "before_departure")["coolant"]
    assert coolant["reason"] == "no_record"
    assert coolant["cleared_by"].startswith("Find the record")


def test_what_is_overdue_today_is_overdue_and_not_due_on_the_way(car):
    done(car, kind="coolant", on=datetime.date(2023, 1, 1), months=24)
    assert items(car, "before_departure")["coolant"]["reason"] == "overdue"


def test_a_laid_up_car_is_seen_to_before_it_returns_to_the_road(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 2, 25), to_on=None)
    done(car, kind="coolant", before_use_after_months=3)
    assert items(car, "before_departure")["coolant"]["reason"] == "before_use"


def test_what_is_overdue_on_a_laid_up_car_waits_till_before_use_as_in_the_due_list(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 2, 25), to_on=None)
    done(car, kind="coolant", on=datetime.date(2023, 1, 1), months=24)
    coolant = items(car, "before_departure")["coolant"]
    assert (coolant["reason"], coolant["status"]) == ("before_use", "before_use")


@pytest.mark.parametrize("months", [None, 24])
def test_what_a_car_in_use_was_to_have_done_before_its_use_is_overdue(car, months):
    LayUpFactory(vehicle=car, from_on=datetime.date(2025, 1, 1), to_on=datetime.date(2026, 1, 1))
    done(
        car, kind="coolant", on=datetime.date(2023, 1, 1), months=months, before_use_after_months=3
    )
    coolant = items(car, "before_departure")["coolant"]
    assert (coolant["reason"], coolant["status"]) == ("overdue", "overdue")
    assert coolant["cleared_by"] == "Renew it and record it."


def test_a_lay_up_that_ends_before_the_rule_asks_calls_for_nothing(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None)
    done(car, kind="coolant", before_use_after_months=3)
    assert "coolant" not in items(car, "before_departure")


def test_a_car_laid_up_today_may_leave_today(car):
    LayUpFactory(vehicle=car, from_on=TODAY, to_on=None)
    today = TripDraft(from_on=TODAY, to_on=TODAY, distance=Decimal(10))
    found = trip_check(vehicle=car, trip=today, on=TODAY)
    assert any("Laid up since 2026-06-01" in text for text in found["assumes"])


def test_an_open_finding_comes_before_departure(car):
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 5, 1))
    FindingFactory(inspection=failed, component=ComponentFactory(vehicle=car, kind="brake-pipe"))
    found = trip_check(vehicle=car, trip=TRIP, on=TODAY)["before_departure"]
    pipe = next(item for item in found if item["reason"] == "finding")
    assert pipe["cleared_by"] == (
        "Put it right and record the work on this component, or record a later pass."
    )


def test_the_certificate_holds_up_to_its_last_day_and_not_beyond(car):
    InspectionFactory(
        vehicle=car, on=datetime.date(2025, 6, 13), expires_on=datetime.date(2026, 6, 12)
    )
    days = trip_check(vehicle=car, trip=TRIP, on=TODAY)["inspection"]["days"]
    assert days == [
        {"from": "2026-06-10", "to": "2026-06-12", "valid": True},
        {"from": "2026-06-13", "to": "2026-06-19", "valid": False},
    ]


def test_abroad_the_certificate_can_not_be_renewed(car):
    car.inspection_regime = "gb"
    trip = TripDraft(
        from_on=TRIP.from_on, to_on=TRIP.to_on, distance=TRIP.distance, countries=("GB", "FR")
    )
    notes = " ".join(trip_check(vehicle=car, trip=trip, on=TODAY)["inspection"]["notes"])
    assert "can't be renewed there" in notes and "papers FR ask" in notes


def test_a_country_may_be_written_small(car):
    trip = replace(TRIP, countries=("fr",))
    assert trip_check(vehicle=car, trip=trip, on=TODAY)["countries"] == ["FR"]


def test_a_distance_reached_on_the_way_says_so_beside_the_usual_day(car):
    done(car, distance_km=Decimal(2_000))
    item = items(car, "on_the_way")["engine-oil"]
    assert f"with it, it falls due on {item['due_on']}, after" in item["sentence"]


def test_a_paper_that_runs_out_on_the_way_does_not_hold_throughout(car):
    PaperFactory(vehicle=car, until=datetime.date(2026, 6, 18))
    PaperFactory(vehicle=car, kind="breakdown-cover", until=datetime.date(2026, 6, 19))
    papers = trip_check(vehicle=car, trip=TRIP, on=TODAY)["papers"]
    assert {paper["kind"]: paper["holds_throughout"] for paper in papers} == {
        "insurance": False,
        "breakdown-cover": True,
    }


def test_no_answer_calls_a_car_what_nobody_can_promise(car):
    done(car, kind="coolant", on=datetime.date(2024, 6, 19), months=24)
    text = json.dumps(trip_check(vehicle=car, trip=TRIP, on=TODAY))
    assert not re.search(r"\bsafe(ly)?\b", text, re.IGNORECASE)


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"from_on": datetime.date(2026, 5, 31)}, "/from"),
        ({"to_on": datetime.date(2026, 6, 9)}, "/to"),
        ({"to_on": datetime.date(2027, 8, 1)}, "/to"),
        ({"distance": Decimal(-1)}, "/distance"),
        ({"distance": Decimal("NaN")}, "/distance"),
        ({"countries": ("FR", "France")}, "/countries/1"),
        ({"countries": ("XX",)}, "/countries/0"),
    ],
)
def test_a_trip_that_can_not_be_is_refused_by_the_field_at_fault(car, changed, pointer):
    asked = {"from_on": TRIP.from_on, "to_on": TRIP.to_on, "distance": TRIP.distance} | changed
    with pytest.raises(Refused) as refused:
        trip_check(vehicle=car, trip=TripDraft(**asked), on=TODAY)
    assert [problem.pointer for problem in refused.value.problems] == [pointer]
