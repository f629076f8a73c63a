"""What a car asks for before it goes back on the road."""

import datetime

import pytest

from maintenance.catalogue.job_rules import FAILED_INSPECTION
from maintenance.services.plans.answers import as_dict
from maintenance.services.plans.needs import needs_of
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    FindingFactory,
    InspectionFactory,
    MeasurementFactory,
    PaperFactory,
    ServiceEventFactory,
    VehicleFactory,
)
from tests.services.plans.cars import BY, TODAY, fitted, laid_up_car, planned

pytestmark = pytest.mark.django_db


def asked(car, on=TODAY, by=BY):
    needs, _ = needs_of(car, on=on, by=by)
    return {(need.task, need.kind, need.position): need for need in needs}


def test_what_falls_due_by_the_day_of_return_is_asked_for():
    car = laid_up_car()
    fitted(car, "brake-fluid", renewed=datetime.date(2025, 2, 1))
    assert ("renew", "brake-fluid", "") in asked(car, by=datetime.date(2027, 2, 1))


def test_what_falls_due_after_the_return_is_not():
    car = laid_up_car()
    fitted(car, "brake-fluid", renewed=datetime.date(2026, 11, 1))
    assert ("renew", "brake-fluid", "") not in asked(car)


def test_care_of_a_standing_car_is_no_work_on_the_way_back():
    car = laid_up_car()
    ComponentFactory(vehicle=car, kind="battery")
    tasks = {need.reason for need in asked(car).values()}
    assert not any("while it stands" in reason for reason in tasks)
    assert all(need.origin == "due_item" for need in asked(car).values())


def test_linings_never_measured_are_looked_at_and_not_renewed():
    car = VehicleFactory(inspection_regime="")
    fitted(car, "brake-pads", "front", renewed=datetime.date(2026, 11, 20))
    need = asked(car)["inspect", "brake-pads", "front"]
    assert need.reason.startswith("To be measured.")
    assert ("renew", "brake-pads", "front") not in asked(car)


def test_linings_measured_below_their_limit_are_renewed():
    car = VehicleFactory(inspection_regime="")
    [pads] = fitted(car, "brake-pads", "front", renewed=datetime.date(2026, 5, 1))
    event = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 11, 20))
    MeasurementFactory(
        entry=EntryFactory(event=event, component=pads, action="measure"),
        quantity="lining_thickness", value="1.2", unit="mm",
    )  # fmt: skip
    assert ("renew", "brake-pads", "front") in asked(car)


@pytest.mark.parametrize(
    ("kind", "task"),
    [
        ("brake-hose", "renew"),
        ("ball-joint-boot", "renew"),
        ("brake-caliper", "overhaul"),
        ("sill", "repair"),
    ],
)
def test_a_grave_finding_is_put_right_and_tested_again(kind, task):
    car = VehicleFactory(inspection_regime="")
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 11, 10))
    part = ComponentFactory(vehicle=car, kind=kind, position="left")
    FindingFactory(inspection=failed, component=part, category="dangerous")
    assert asked(car)[task, kind, "left"].tags == [FAILED_INSPECTION]


def test_a_failure_long_ago_calls_for_a_whole_inspection():
    car = VehicleFactory(inspection_regime="gb")
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 5, 10))
    part = ComponentFactory(vehicle=car, kind="brake-hose", position="rear")
    FindingFactory(inspection=failed, component=part)
    found = asked(car)
    assert ("roadworthiness_inspection", "whole-car", "") in found
    assert found["renew", "brake-hose", "rear"].tags == []


def test_advice_of_an_inspection_is_taken_up_until_it_is_seen_to():
    car = VehicleFactory(inspection_regime="")
    passed = InspectionFactory(vehicle=car, on=datetime.date(2026, 11, 10))
    exhaust = ComponentFactory(vehicle=car, kind="exhaust")
    FindingFactory(inspection=passed, component=exhaust, category="advisory", note="blowing")
    assert any("blowing" in need.reason for need in asked(car).values())
    event = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 11, 15))
    EntryFactory(event=event, component=exhaust, action="repair")
    assert not any("blowing" in need.reason for need in asked(car).values())


def test_what_was_done_for_the_lay_up_is_undone():
    car = laid_up_car(preparations=["fuel drained", "tyres at 3 bar"])
    need = asked(car)["undo", "lay-up-preparations", ""]
    assert need.reason == "prepared on 2015-10-03: fuel drained; tyres at 3 bar"


def test_what_there_is_to_undo_is_printed():
    sheets = planned(laid_up_car(preparations=["fuel drained"]))
    [job] = as_dict(sheets)["jobs"]
    assert job["told"] == "Undo lay up preparations: prepared on 2015-10-03: fuel drained"


def test_a_car_that_was_just_left_has_nothing_to_undo():
    car = laid_up_car(preparations=["none: left with a tired battery"])
    assert not any(kind == "lay-up-preparations" for _, kind, _ in asked(car))


def test_a_paper_that_runs_out_is_told_and_is_no_job():
    car = laid_up_car()
    PaperFactory(vehicle=car, until=datetime.date(2027, 1, 31))
    needs, papers = needs_of(car, on=TODAY, by=BY)
    assert [paper.due_on for paper in papers] == [datetime.date(2027, 1, 31)]
    assert needs == []
