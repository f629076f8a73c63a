"""A car that leaves the collection: its record can be read, and is closed."""

import pytest

from maintenance.models import DueItem, LayUp, OdometerReading
from maintenance.queries.due_answers import due_on_another_day
from maintenance.services.departures import leave
from maintenance.services.drafts import PaperDraft
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.export_history import export_history
from maintenance.services.history_file.import_history import import_history
from maintenance.services.lay_ups import lay_up
from maintenance.services.papers import add_paper
from maintenance.services.recompute import recompute_collection
from maintenance.services.service_events import record_service_event
from maintenance.services.vehicles import change_vehicle
from maintenance.services.verify_history import verify_history
from tests.factories import ComponentFactory, VehicleFactory
from tests.services.asking import day, entry, event, refused, standing


@pytest.fixture
def car(db, when):
    car = VehicleFactory(registration="HM 7")
    ComponentFactory(vehicle=car)
    record_service_event(vehicle=car, draft=event(entry()), **when)
    return car


@pytest.fixture
def sold(car, when):
    return leave(vehicle=car, on=day("2026-11-20"), how="sold", **when)


def test_a_car_that_has_left_has_no_due_items(car, when):
    assert DueItem.objects.filter(vehicle=car).exists()
    leave(vehicle=car, on=day("2026-11-20"), how="sold", **when)
    assert not DueItem.objects.filter(vehicle=car).exists()


def test_the_nightly_pass_brings_none_back(car, sold, today):
    recompute_collection(collection=car.collection, on=today)
    assert not DueItem.objects.filter(vehicle=car).exists()


def test_before_the_day_it_left_it_has_them_still(car, sold):
    assert due_on_another_day([car], on=day("2026-11-19"))
    assert not due_on_another_day([car], on=day("2026-11-20"))


def test_nothing_more_is_recorded_of_it(car, sold, when):
    for write, draft in ((record_service_event, event(entry())), (lay_up, standing("2026-11-21"))):
        message = refused(write, vehicle=car, draft=draft, **when)[""]
        assert "HM 7 has left the collection (sold on 2026-11-20)" in message
    assert not LayUp.objects.exists()


def test_its_description_and_its_papers_stay_as_they_were(car, sold, today):
    paper = PaperDraft(kind="insurance", until=day("2027-01-01"))
    assert "closed" in refused(add_paper, vehicle=car, draft=paper, today=today)[""]
    change = {"vehicle": car, "version": car.version, "changes": {"make": "Orrin"}}
    assert "closed" in refused(change_vehicle, **change, today=today)[""]


def test_an_import_adds_nothing_to_it_but_may_repeat_what_is_there(car, sold, when):
    document = export_history(collection=car.collection)
    import_history(document=document, **when)
    document["vehicles"][0]["odometer_readings"] = [{"on": "2026-05-01", "value": 9}]
    assert "closed" in refused(import_history, document=document, **when)["/vehicles/0"]
    assert not OdometerReading.objects.exists()


def test_a_car_that_came_back_has_its_due_items_again(car, sold, when):
    withdraw(record=sold, reason="the sale fell through", **when)
    assert DueItem.objects.filter(vehicle=car).exists()


def test_a_car_leaves_once_and_not_tomorrow(car, sold, when):
    assert "closed" in refused(leave, vehicle=car, on=day("2026-11-21"), how="sold", **when)[""]
    other = VehicleFactory(collection=car.collection)
    said = refused(leave, vehicle=other, on=day("2026-11-26"), how="given", **when)
    assert {"/on", "/how"} == set(said)


def test_the_record_of_a_car_that_left_still_verifies(car, sold):
    assert [verified.faults for verified in verify_history([car])] == [[]]
