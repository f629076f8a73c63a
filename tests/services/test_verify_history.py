"""Whatever is done to a record past the services shows, and the record is named."""

from decimal import Decimal
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.models import Entry, HistoryLink, LayUp, Measurement, OdometerReading, ServiceEvent
from maintenance.queries.history_heads import heads_of
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place, ReadingDraft
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.import_history import import_history
from maintenance.services.history_file.read import read_document
from maintenance.services.inspections import record_inspection
from maintenance.services.lay_ups import end_lay_up, lay_up
from maintenance.services.odometer import correct_reading, record_reading
from maintenance.services.service_events import record_service_event
from maintenance.services.verify_history import verify_history
from tests.factories import ComponentFactory, OdometerReadingFactory, VehicleFactory
from tests.services.asking import day, entry, event, measured, standing
from tests.unguarded import unguarded

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def car(db, when):
    """A car with one record of each kind, some corrected or withdrawn."""
    car = VehicleFactory()
    ComponentFactory(vehicle=car)
    first = record_reading(
        vehicle=car, draft=ReadingDraft(on=day("2026-01-05"), value=Decimal(900)), **when
    )
    correct_reading(
        reading=first,
        draft=ReadingDraft(on=day("2026-01-05"), value=Decimal(950)),
        reason="a 5 was read as 0",
        **when,
    )
    lay_up(vehicle=car, draft=standing("2026-02-01"), **when)
    end_lay_up(vehicle=car, on=day("2026-04-01"), **when)
    work = event(entry(action="measure", measurement=measured("water_content", "1.5", "%")))
    record_service_event(vehicle=car, draft=work, **when)
    gone = record_service_event(vehicle=car, draft=event(entry(), on="2026-06-01"), **when)
    withdraw(record=gone, reason="another car", **when)
    fault = FindingDraft(place=Place("brake-fluid"), category="major")
    failed = InspectionDraft(on=day("2026-07-01"), result="fail", findings=(fault,))
    record_inspection(vehicle=car, draft=failed, **when)
    return car


def faults(car):
    (verified,) = verify_history([car])
    return [(fault.what, fault.kind, fault.record) for fault in verified.faults]


def links(car):
    return list(HistoryLink.objects.filter(vehicle=car).order_by("sequence"))


def test_a_history_written_by_the_services_verifies(car):
    (verified,) = verify_history([car])
    assert (verified.faults, verified.length, verified.head) == ([], 8, links(car)[-1].digest)


def test_every_record_is_chained_to_the_one_before(car):
    chain = links(car)
    assert [link.sequence for link in chain] == list(range(1, 9))
    assert [link.previous for link in chain] == ["", *(link.digest for link in chain[:-1])]


def test_a_record_changed_past_the_services_is_named(car):
    lying = LayUp.objects.get(current=True)
    with unguarded():
        LayUp.objects.filter(pk=lying.pk).update(storage="heated")
    assert faults(car) == [("changed", "lay-up", lying.pk)]


@pytest.mark.parametrize(
    ("model", "change"),
    [(Entry, {"action": "renew"}), (Measurement, {"value": 1}), (Entry, {"note": "as new"})],
)
def test_a_changed_part_of_a_record_names_the_record(model, change, car):
    done = ServiceEvent.objects.get(on=day("2026-05-01"))
    row = Measurement.objects.get() if model is Measurement else done.entries.get()
    with unguarded():
        model.objects.filter(pk=row.pk).update(**change)
    assert faults(car) == [("changed", "service-event", done.pk)]


def test_an_entry_put_into_a_record_names_the_record(car):
    done = ServiceEvent.objects.get(on=day("2026-05-01"))
    old = done.entries.get()
    Entry.objects.create(
        collection=car.collection, event=done, sequence=1, component=old.component, action="renew"
    )
    assert faults(car) == [("changed", "service-event", done.pk)]


def test_a_removed_record_is_named(car):
    gone = LayUp.objects.get(current=True)
    with unguarded():
        LayUp.objects.filter(pk=gone.pk).delete()
    # And the record that it superseded stands out of force for no reason.
    assert faults(car) == [
        ("changed", "lay-up", gone.supersedes_id),
        ("removed", "lay-up", gone.pk),
    ]


def test_a_record_removed_together_with_its_link_leaves_a_gap_that_is_named(car):
    chain = links(car)
    with unguarded():
        OdometerReading.objects.get(current=True).delete()
        chain[1].delete()
    assert ("removed", chain[2].kind, chain[2].record) in faults(car)


def test_an_inserted_record_is_named(car):
    slipped_in = OdometerReadingFactory(vehicle=car, value=1200)
    assert faults(car) == [("inserted", "odometer-reading", slipped_in.pk)]


def test_reordered_records_are_named_and_no_others(car):
    third, fourth = links(car)[2:4]
    with unguarded():
        for link, place in ((third, 99), (fourth, 3), (third, 4)):
            HistoryLink.objects.filter(pk=link.pk).update(sequence=place)
    assert {(what, record) for what, _, record in faults(car)} == {
        ("reordered", third.record),
        ("reordered", fourth.record),
    }


def test_a_record_brought_back_into_force_is_named(car):
    corrected = OdometerReading.objects.get(current=False)
    with unguarded():
        OdometerReading.objects.filter(pk=corrected.pk).update(current=True)
    assert faults(car) == [("changed", "odometer-reading", corrected.pk)]


def test_a_record_moved_to_another_car_is_named(car):
    moved = ServiceEvent.objects.get(on=day("2026-05-01"))
    with unguarded():
        ServiceEvent.objects.filter(pk=moved.pk).update(vehicle=VehicleFactory())
    assert faults(car) == [("changed", "service-event", moved.pk)]


def test_a_link_rewritten_with_its_record_no_longer_carries_the_next(car):
    changed, following = links(car)[4:6]
    with unguarded():
        HistoryLink.objects.filter(pk=changed.pk).update(digest="ab" * 32)
    found = faults(car)
    assert ("changed", changed.kind, changed.record) in found
    assert ("removed", following.kind, following.record) in found


def test_the_latest_record_taken_out_with_its_link_shows_against_a_noted_head(car):
    noted = heads_of([car.pk])[car.pk].digest
    with unguarded():
        HistoryLink.objects.get(digest=noted).delete()
        with connection.cursor() as cursor:
            for table in ("dueitem", "finding", "inspection"):
                cursor.execute(f"DELETE FROM maintenance_{table}")
    (verified,) = verify_history([car])
    assert verified.faults == []
    assert noted not in verified.digests


def test_an_imported_history_verifies(db, when):
    document = read_document((ROOT / "fixtures" / "example-history.json").read_bytes(), limit=10**6)
    import_history(document=document, **when)
    cars = list(verify_history(type(VehicleFactory.build()).objects.all()))
    assert [car.faults for car in cars] == [[]] * len(document["vehicles"])
    assert all(car.length for car in cars)


def test_the_verification_of_many_cars_takes_no_more_queries(car):
    cars = [VehicleFactory(collection=car.collection) for _ in range(20)]
    assert queries([car, *cars]) == queries([car])


def queries(cars):
    with CaptureQueriesContext(connection) as taken:
        list(verify_history(cars))
    return len(taken)
