"""Undoing a correction or a withdrawal."""

from decimal import Decimal

import pytest

from maintenance.models import LayUp, OdometerReading, ServiceEvent
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place, ReadingDraft
from maintenance.services.evidence import withdraw
from maintenance.services.inspections import correct_inspection, record_inspection
from maintenance.services.lay_ups import correct_lay_up, lay_up
from maintenance.services.odometer import correct_reading, record_reading
from maintenance.services.service_events import correct_service_event, record_service_event
from maintenance.services.undo import undo
from maintenance.services.verify_history import verify_history
from tests.factories import ComponentFactory, VehicleFactory
from tests.services.asking import day, entry, event, measured, refused, standing


@pytest.fixture
def car(db):
    car = VehicleFactory()
    ComponentFactory(vehicle=car)
    return car


def test_undoing_the_correction_of_a_reading_puts_the_first_value_in_force_again(car, when):
    first = record_reading(
        vehicle=car, draft=ReadingDraft(on=day("2026-05-01"), value=Decimal(900)), **when
    )
    draft = ReadingDraft(on=day("2026-05-01"), value=Decimal(950))
    wrong = correct_reading(reading=first, draft=draft, reason="misread", **when)
    again = undo(record=wrong, reason="it was right", **when)
    in_force = OdometerReading.objects.get(current=True)
    assert (in_force.value, in_force.supersedes_id, again.reason) == (900, wrong.pk, "it was right")


def test_undoing_the_correction_of_an_event_brings_its_entries_and_measurements_back(car, when):
    work = event(entry(action="measure", measurement=measured("water_content", "1.5", "%")))
    first = record_service_event(vehicle=car, draft=work, **when)
    wrong = correct_service_event(event=first, draft=event(), reason="not done", **when)
    again = undo(record=wrong, reason="it was done", **when)
    assert again.entries.get().measurement.value == Decimal("1.5")


def test_undoing_a_withdrawal_puts_the_record_in_force_again(car, when):
    first = record_service_event(vehicle=car, draft=event(entry()), **when)
    gone = withdraw(record=first, reason="another car", **when)
    undo(record=gone, reason="this car after all", **when)
    in_force = ServiceEvent.objects.get(current=True)
    assert (in_force.withdrawn, in_force.entries.get().action) == (False, "renew")


def test_undoing_the_correction_of_an_inspection_brings_its_findings_back(car, when):
    fault = FindingDraft(place=Place("brake-fluid"), category="major")
    failed = InspectionDraft(on=day("2026-05-01"), result="fail", findings=(fault,))
    first = record_inspection(vehicle=car, draft=failed, **when)
    passed = InspectionDraft(on=day("2026-05-01"), result="pass")
    wrong = correct_inspection(inspection=first, draft=passed, reason="misread", **when)
    assert undo(record=wrong, reason="it failed", **when).findings.get().category == "major"


def test_undoing_the_correction_of_a_lay_up_is_refused_where_another_was_recorded_since(car, when):
    first = lay_up(vehicle=car, draft=standing("2025-10-01", "2026-04-01"), **when)
    shorter = standing("2025-10-01", "2025-12-01")
    wrong = correct_lay_up(lay_up=first, draft=shorter, reason="shorter", **when)
    lay_up(vehicle=car, draft=standing("2026-01-01", "2026-02-01"), **when)
    assert refused(undo, record=wrong, reason="longer", **when)
    assert LayUp.objects.filter(current=True).count() == 2


def test_a_first_record_has_nothing_to_undo(car, when):
    first = record_service_event(vehicle=car, draft=event(entry()), **when)
    assert "nothing to undo" in refused(undo, record=first, reason="why", **when)[""]


def test_a_correction_is_undone_once(car, when):
    first = record_service_event(vehicle=car, draft=event(entry()), **when)
    wrong = correct_service_event(event=first, draft=event(), reason="not done", **when)
    undo(record=wrong, reason="done", **when)
    assert "before" in refused(undo, record=wrong, reason="done", **when)[""]


def test_an_undoing_without_a_reason_is_refused(car, when):
    first = record_service_event(vehicle=car, draft=event(entry()), **when)
    gone = withdraw(record=first, reason="another car", **when)
    assert "missing" in refused(undo, record=gone, reason=" ", **when)["/reason"]


def test_a_history_with_something_undone_verifies(car, when):
    first = record_service_event(vehicle=car, draft=event(entry()), **when)
    gone = withdraw(record=first, reason="another car", **when)
    undo(record=gone, reason="this car after all", **when)
    assert [verified.faults for verified in verify_history([car])] == [[]]
