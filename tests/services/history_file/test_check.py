import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.models import Collection, Vehicle
from maintenance.services.refusals import Refused
from tests.services.history_file.files import CAR, car, file_of, take

pytestmark = pytest.mark.django_db


def refusal(document, when):
    with pytest.raises(Refused) as refused:
        take(document, when)
    assert not Collection.objects.exists()
    return {problem.pointer: problem.message for problem in refused.value.problems}


def test_every_error_of_a_file_is_told_at_once_each_with_its_place(when):
    document = file_of(
        car(
            odometer_unit="kms",
            lay_ups=[{"from": "2025-10-01", "storage": "barn"}],
            service_events=[
                {"on": "2027", "entries": [{"kind": "brake-fliud", "action": "renew"}]},
                {"on": "2026-05-01", "entires": []},
                {"on": "yesterday", "cost": 5},
            ],
            inspections=[{"on": "2026-02-30", "result": "passed"}],
        ),
        vehicels=[],
    )
    assert set(refusal(document, when)) == {
        "/vehicels",
        "/vehicles/0/odometer_unit",
        "/vehicles/0/lay_ups/0/storage",
        "/vehicles/0/service_events/0/on",
        "/vehicles/0/service_events/0/entries/0/kind",
        "/vehicles/0/service_events/1/entires",
        "/vehicles/0/service_events/2/on",
        "/vehicles/0/service_events/2/currency",
        "/vehicles/0/inspections/0/on",
        "/vehicles/0/inspections/0/result",
    }


@pytest.mark.parametrize(
    ("said", "pointer", "word"),
    [
        ({"odometer_digit": 5}, "/odometer_digit", "'odometer_digits'"),
        ({"inspection_regime": "g"}, "/inspection_regime", "'gb'"),
        ({"components": [{"kind": "brakefluid"}]}, "/components/0/kind", "'brake-fluid'"),
        (
            {"lay_ups": [{"from": "2025-10-01", "storage": "heatd"}]},
            "/lay_ups/0/storage",
            "'heated'",
        ),
        (
            {
                "service_events": [
                    {"on": "2026", "entries": [{"kind": "brake-fluid", "action": "Renew!"}]}
                ]
            },
            "/service_events/0/entries/0/action",
            "'renew'",
        ),
    ],
)
def test_an_unknown_word_is_refused_with_the_nearest_known_one(said, pointer, word, when):
    assert word in refusal(file_of(car(**said)), when)[f"/vehicles/0{pointer}"]


def test_a_grave_finding_of_a_pass_is_refused(when):
    hose = {"kind": "brake-hose", "category": "major"}
    passed = {"on": "2026-05-01", "result": "pass", "findings": [hose]}
    held = {"components": [{"kind": "brake-hose"}], "service_events": []}
    said = refusal(file_of(car(**held, inspections=[passed])), when)
    assert set(said) == {"/vehicles/0/inspections/0/findings/0/category"}


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"registration": 77}, "/registration"),
        ({"built_on": 1968}, "/built_on"),
        ({"substantially_changed": "no"}, "/substantially_changed"),
        ({"odometer_digits": 5.5}, "/odometer_digits"),
        ({"odometer_digits": 10**12}, "/odometer_digits"),
        ({"odometer_readings": {"on": "2026-03-01"}}, "/odometer_readings"),
        (
            {"odometer_readings": [{"on": "2026-03-01", "value": "48000"}]},
            "/odometer_readings/0/value",
        ),
        (
            {"odometer_readings": [{"on": "2026-03-01", "value": True}]},
            "/odometer_readings/0/value",
        ),
        ({"odometer_readings": [{"on": "2026-03-01"}]}, "/odometer_readings/0/value"),
        ({"odometer_readings": [48000]}, "/odometer_readings/0"),
        ({"season": {"from_month": 4}}, "/season/to_month"),
        ({"papers": [{"kind": "insurance"}]}, "/papers/0/until"),
        ({"specification": [{"item": "gap"}]}, "/specification/0/value"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused_once_with_its_place(said, pointer, when):
    assert list(refusal(file_of(car(**said)), when)) == [f"/vehicles/0{pointer}"]


@pytest.mark.parametrize("name", ["registration", "make", "model", "odometer_unit"])
@pytest.mark.parametrize("absent", ["null", "left out", "empty"])
def test_what_a_car_must_have_is_missed_once(name, absent, when):
    described = car(**{name: None if absent == "null" else ""})
    if absent == "left out":
        del described[name]
    assert list(refusal(file_of(described), when)) == [f"/vehicles/0/{name}"]


def test_null_is_as_good_as_absent(when):
    optional = {
        name: None
        for name in (
            *("chassis_number", "expected_annual_distance", "nominal_voltage", "season"),
            *("substantially_changed", "odometer_changes", "inspections", "papers"),
        )
    }
    assert take(file_of(car(**optional)), when).added["vehicles"] == 1


def test_the_same_registration_twice_is_refused(when):
    problems = refusal(file_of(car(), car()), when)
    assert "/vehicles/0" in problems["/vehicles/1/registration"]


def test_the_same_plate_with_and_without_blanks_is_refused(when):
    cars = [car(registration=mark) for mark in ("a1", "A 1", "A1")]
    problems = refusal(file_of(*cars), when)
    assert {"/vehicles/1/registration", "/vehicles/2/registration"} <= set(problems)


def test_the_same_component_twice_is_refused(when):
    components = [{"kind": "tyre"}, {"kind": "tyre", "position": ""}]
    problems = refusal(file_of(car(components=components, service_events=[])), when)
    assert "/vehicles/0/components/0" in problems["/vehicles/0/components/1"]


def test_an_assembly_that_the_car_does_not_have_is_refused(when):
    components = [{"kind": "ball-joint-boot", "assembly": "ball-joint"}]
    problems = refusal(file_of(car(components=components, service_events=[])), when)
    assert "ball-joint" in problems["/vehicles/0/components/0/assembly"]


def test_all_of_three_overlapping_lay_ups_are_named(when):
    lay_ups = [
        {"from": "2015-01-01", "to": "2020-01-01", "storage": "dry"},
        {"from": "2016-01-01", "to": "2016-06-01", "storage": "dry"},
        {"from": "2017-01-01", "to": "2017-06-01", "storage": "dry"},
    ]
    assert set(refusal(file_of(car(lay_ups=lay_ups)), when)) == {
        "/vehicles/0/lay_ups/1",
        "/vehicles/0/lay_ups/2",
    }


def test_two_readings_that_contradict_each_other_are_both_named(when):
    readings = [{"on": "2026-03-01", "value": 48000}, {"on": "2026-04-01", "value": 47000}]
    problems = refusal(file_of(car(odometer_readings=readings, service_events=[])), when)
    message = problems["/vehicles/0/odometer_readings/1/value"]
    assert "47000 km (reading of 2026-04-01)" in message and "48000 km" in message


def test_two_changes_of_instrument_on_one_day_are_refused(when):
    change = {"on": "2026-06-01", "old_value": 48200, "new_value": 0}
    problems = refusal(file_of(car(odometer_changes=[change, change])), when)
    assert "/vehicles/0/odometer_changes/1/on" in problems


def test_a_time_zone_that_does_not_exist_is_refused(when):
    document = file_of(collection={"name": "Harrowmere", "time_zone": "Lisbon"})
    assert set(refusal(document, when)) == {"/collection/time_zone"}


def test_a_file_without_cars_or_collection_is_refused(when):
    assert set(refusal({}, when)) == {"/vehicles", "/collection/name"}


RULE = {
    "name": "fluid yearly",
    "kind": "brake-fluid",
    "task": "renew",
    "months": 12,
    "criticality": "safety",
    "source": "keeper's choice",
}


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"lay_up": {"factors": {"damp": 0.5}}}, "/lay_up/factors/damp"),
        ({"lay_up": {"factors": {"wet": 2}}}, "/lay_up/factors/wet"),
        ({"kind": "break-fluid"}, "/kind"),
        ({"vehicle": "HM 78"}, "/vehicle"),
        ({"vehicle": "HM 77", "position": "front"}, "/position"),
        ({"vehicle": "HM 77", "make": "Tarnbrook"}, "/make"),
        ({"model": "Heron"}, "/make"),
        ({"months": 12.5}, "/months"),
        ({"months": None}, "/months"),
        ({"source": None}, "/source"),
        ({"wear": {"quantity": "water_content", "unit": "mm", "maximum": 3}}, "/wear/unit"),
        ({"warn_day": 3}, "/warn_day"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused_once_with_its_place(said, pointer, when):
    problems = refusal(file_of(interval_rules=[RULE | said]), when)
    assert list(problems) == [f"/interval_rules/0{pointer}"]


def test_the_same_rule_twice_is_refused(when):
    problems = refusal(file_of(interval_rules=[RULE, RULE | {"months": 24}]), when)
    assert set(problems) == {"/interval_rules/1/task"}


def _spoil(value, rng):
    """Put something else in one place of a tree."""
    junk = rng.choice([None, -1, 10**12, "", "x", [], {}, True, "2026-02-30", [[]], {"x": {}}])
    if isinstance(value, dict) and value and rng.random() < 0.8:
        key = rng.choice(sorted(value))
        return {**value, key: _spoil(value[key], rng)}
    if isinstance(value, list) and value and rng.random() < 0.8:
        place = rng.randrange(len(value))
        return [*value[:place], _spoil(value[place], rng), *value[place + 1 :]]
    return junk


FAULT = {"kind": "brake-fluid", "category": "major"}
PUT_OFF = {"rule": "its rule", "until": "2026-12-24", "why": "on order"}
SPOILABLE = CAR | {
    "inspections": [{"on": "2026-05-10", "result": "fail", "findings": [FAULT]}],
    "papers": [{"kind": "insurance", "until": "2026-12-31"}],
    "postponements": [
        PUT_OFF | {"component": {"kind": "brake-fluid", "task": "renew"}, "since": "2026-05-01"},
        PUT_OFF | {"finding": FAULT | {"on": "2026-05-10"}},
        PUT_OFF | {"paper": {"kind": "insurance", "until": "2026-12-31"}},
        PUT_OFF | {"inspection": True},
        PUT_OFF | {"paper": {"kind": "vehicle-tax"}, "gone": True},
    ],
    "departures": [{"on": "2026-11-20", "how": "sold"}],
}


def test_the_file_that_is_spoilt_below_was_sound(when):
    assert take(file_of(SPOILABLE, interval_rules=[RULE]), when).added["postponements"] == 5


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32))
def test_any_spoilt_file_is_taken_or_refused_with_places_that_exist(seed, when):
    rng = random.Random(seed)
    document = file_of(SPOILABLE, interval_rules=[RULE])
    for _ in range(rng.randrange(1, 4)):
        document = _spoil(document, rng)
    try:
        take(document, when, dry_run=True)
    except Refused as refused:
        assert all(problem.message for problem in refused.problems)
    assert not Vehicle.objects.exists()
