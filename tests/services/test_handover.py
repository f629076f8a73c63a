"""The records of a car go to another collection as they are."""

import pytest
from django.db import IntegrityError, transaction

from maintenance.models import Collection, Entry, Handover, HistoryLink, LayUp, Measurement
from maintenance.services.handover import hand_over_records
from maintenance.services.lay_ups import lay_up
from maintenance.services.service_events import record_service_event
from maintenance.services.verify_history import verify_history
from tests.factories import CollectionFactory, ComponentFactory, LayUpFactory, VehicleFactory
from tests.services.asking import entry, event, measured, standing


@pytest.fixture
def car(db, when):
    car = VehicleFactory()
    ComponentFactory(vehicle=car)
    lay_up(vehicle=car, draft=standing("2026-01-01", "2026-04-01"), **when)
    work = event(entry(action="measure", measurement=measured("water_content", "1.5", "%")))
    record_service_event(vehicle=car, draft=work, **when)
    return car


def test_every_record_goes_with_its_parts_and_its_chain(car):
    to = CollectionFactory()
    hand_over_records(vehicle=car, to=to)
    for table in (LayUp, Entry, Measurement, HistoryLink):
        assert set(Collection.objects.filter(pk__in=table.objects.values("collection"))) == {to}


def test_no_digest_changes_and_the_history_verifies(car):
    before = list(HistoryLink.objects.order_by("sequence").values_list("digest", flat=True))
    hand_over_records(vehicle=car, to=CollectionFactory())
    (verified,) = verify_history([car])
    assert verified.faults == []
    assert (verified.length, verified.head) == (len(before), before[-1])


def test_the_records_of_other_cars_stay(car):
    other = LayUpFactory(vehicle__collection=car.collection)
    hand_over_records(vehicle=car, to=CollectionFactory())
    other.refresh_from_db()
    assert other.collection == other.vehicle.collection


def test_the_way_is_closed_again_behind_it(car):
    before, to = car.collection, CollectionFactory()
    hand_over_records(vehicle=car, to=to)
    assert not Handover.objects.exists()
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        LayUp.objects.update(collection=before)


def test_even_on_the_way_nothing_else_of_a_record_changes(car):
    to = CollectionFactory()
    Handover.objects.create(vehicle=car, from_collection=car.collection, to_collection=to)
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        LayUp.objects.update(collection=to, storage="heated")
