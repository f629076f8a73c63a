"""Measured wear, worked out on paper beside each test."""

import datetime

import pytest

from maintenance.engine.days import to_day
from maintenance.engine.due import due_items
from maintenance.engine.working import explain
from tests.engine.columns_from_history import fleet_of
from tests.engine.on_paper import CAR, RULE, answer, event
from tests.strategies import Case

PADS = [{"kind": "brake-pads", "position": "", "assembly": None}]
LINING = {
    "kind": "brake-pads",
    "wear": {
        "quantity": "lining_thickness",
        "unit": "mm",
        "new": 12,
        "minimum": 2,
        "against": "distance",
    },
}
DAILY_TEN = [{"on": "2025-01-01", "value": 40_000}, {"on": "2026-01-01", "value": 43_650}]


def pads(*measured, criticality="reliability", on="2026-01-01", **rule):
    """Pads renewed at 40 000 km on a car that does 10 km a day, measured on days since."""
    events = [event("2025-01-01", kind="brake-pads", odometer=40_000)]
    for day, value in measured:
        measurement = {"quantity": "lining_thickness", "value": value, "unit": "mm"}
        events.append(event(day, "measure", "brake-pads", measurement=measurement))
    return answer(
        on=on,
        rule=LINING | rule | {"criticality": criticality},
        components=PADS,
        service_events=events,
        odometer_readings=DAILY_TEN,
    )


def test_half_worn_pads_last_as_long_again():
    # 12 to 7 mm in 2 000 km (200 days): 2 mm at 4 000 km, day 400 from 1 January 2025.
    item = pads(("2025-07-20", 7))
    assert (item["due_on"], item["governed_by"]) == ("2026-02-05", "wear")


def test_for_safety_one_measurement_shortens_the_way_to_go_by_a_fifth():
    # 2 000 km still to go become 1 600: 3 600 km, day 360.
    assert pads(("2025-07-20", 7), criticality="safety")["due_on"] == "2025-12-27"


def test_three_measurements_on_a_line_have_no_band_to_speak_of():
    item = pads(("2025-04-11", 9.5), ("2025-07-20", 7), ("2025-10-28", 4.5), criticality="safety")
    assert item["earliest_on"] == item["due_on"] == item["latest_on"] == "2026-02-05"


def test_scattered_measurements_bring_a_safety_item_forward():
    scattered = [("2025-04-11", 9.2), ("2025-07-20", 7.3), ("2025-10-28", 4.4)]
    safety = pads(*scattered, criticality="safety")
    assert safety["earliest_on"] == safety["due_on"] < pads(*scattered)["due_on"]
    assert safety["latest_on"] > pads(*scattered)["due_on"]


def test_the_first_measurement_at_the_limit_fixes_the_day():
    item = pads(("2025-07-20", 2), ("2025-10-28", 6))
    assert (item["due_on"], item["status"]) == ("2025-07-20", "overdue")


def test_pads_that_were_never_measured_say_so():
    item = pads()
    assert (item["due_on"], item["status"]) == (None, "unmeasured")


def test_a_line_that_does_not_approach_the_limit_gives_no_date():
    item = pads(("2025-07-20", 12.2))
    assert (item["due_on"], item["status"]) == (None, "in_date")


def visit(*entries, on="2025-01-01"):
    """One service event of several entries on the pads: an action, or a thickness measured."""
    rows = []
    for entry in entries:
        action = {"action": entry} if isinstance(entry, str) else {"action": "measure"}
        rows.append({"kind": "brake-pads", "position": ""} | action)
        if not isinstance(entry, str):
            rows[-1]["measurement"] = {
                "quantity": "lining_thickness", "value": entry, "unit": "mm",
            }  # fmt: skip
    return {"on": on, "odometer": None, "entries": rows}


def fitted(*visits, new=None, criticality="reliability", minimum=2):
    """Pads on a car that does 10 km a day, of which only what the visits tell is known."""
    wear = LINING["wear"] | {"new": new, "minimum": minimum}
    return answer(
        on="2026-01-01",
        rule=LINING | {"criticality": criticality, "wear": wear},
        components=PADS,
        service_events=list(visits),
        odometer_readings=DAILY_TEN,
    )


def test_what_was_measured_before_the_renewal_of_a_visit_is_what_came_off():
    assert fitted(visit(1.5, "renew"))["status"] == "unmeasured"


def test_what_was_measured_after_the_renewal_of_a_visit_is_the_value_when_new():
    # 8.0 to 6.4 mm in 1 000 km: 1.6 mm, the limit, at 4 000 km, day 400.
    item = fitted(visit("renew", 8.0), visit(6.4, on="2025-04-11"), minimum=1.6)
    assert item["due_on"] == "2026-02-05"


def test_the_pads_own_measurement_goes_before_the_rules_value_when_new():
    # The rule says 12, these began at 10: 3 mm in 2 000 km, 2 mm at 5 333.3 km, day 534.
    item = fitted(visit("renew", 10), visit(7, on="2025-07-20"), new=12)
    assert item["due_on"] == "2026-06-19"


def test_pads_measured_at_the_renewal_alone_have_not_been_measured_since():
    assert fitted(visit("renew", 8.0))["status"] == "unmeasured"


def test_pads_fitted_at_their_limit_are_worn_out_on_that_day():
    assert fitted(visit("renew", 1.9))["due_on"] == "2025-01-01"


def explained(*visits, **wear):
    """What the derivation says in words of pads of which only the visits are known."""
    rule = LINING | {"name": "pads", "wear": LINING["wear"] | wear}
    car = CAR | {"components": PADS, "service_events": list(visits)}
    case = Case(car, [(RULE | rule, [("brake-pads", "")])], None, "2026-01-01")
    found = due_items(fleet_of([case]).batch, on=to_day(datetime.date(2026, 1, 1)))
    criteria = explain(found, 0, subject="Pads").criteria
    return [line.says for one in criteria for line in one.lines if not line.name][-1]


def test_one_measurement_without_a_value_when_new_says_what_is_missing():
    says = explained(visit("renew"), visit(6.4, on="2025-04-11"), new=None)
    assert says.startswith("One measurement alone draws no line")


def test_pads_measured_on_a_car_without_a_rate_say_that_there_is_none():
    first, later = visit("renew"), visit(6.4, on="2025-04-11")
    first["odometer"], later["odometer"] = 40_000, 40_010
    second = visit(6.3, on="2025-04-12") | {"odometer": 40_020}
    says = explained(first | {"on": "2025-04-10"}, later, second)
    assert says.startswith("There is no rate")


def test_two_measurements_at_the_renewal_count_as_the_latter():
    item = fitted(visit("renew", 12.5, 8.0), visit(6.4, on="2025-04-11"), minimum=1.6)
    assert item["due_on"] == "2026-02-05"


@pytest.mark.parametrize(("months", "governed_by"), [(12, "time"), (24, "wear")])
def test_wear_and_time_compete(months, governed_by):
    assert pads(("2025-07-20", 7), months=months)["governed_by"] == governed_by
