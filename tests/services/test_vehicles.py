from dataclasses import replace
from decimal import Decimal
from functools import partial

import pytest
from django.db import IntegrityError

from maintenance.models import Vehicle
from maintenance.services import as_drafts
from maintenance.services.drafts import VehicleDraft
from maintenance.services.evidence import withdraw
from maintenance.services.odometer import record_reading
from maintenance.services.refusals import Outdated
from maintenance.services.service_events import correct_service_event
from maintenance.services.vehicles import add_vehicle, change_vehicle, remove_vehicle
from tests.factories import (
    CollectionFactory,
    InspectionFactory,
    LayUpFactory,
    MemberFactory,
    OdometerChangeFactory,
    OdometerReadingFactory,
    ServiceEventFactory,
    VehicleFactory,
)
from tests.services.asking import day, refused

pytestmark = pytest.mark.django_db


def described(**said):
    usual = {
        "registration": "HM 77",
        "make": "Tarnbrook",
        "model": "Heron",
        "odometer_unit": "km",
    }
    return VehicleDraft(**(usual | said))


def test_a_car_is_added_to_its_collection(today):
    collection = CollectionFactory()
    car, warnings = add_vehicle(collection=collection, draft=described(), today=today)
    assert (Vehicle.objects.get(), warnings) == (car, [])


def test_a_registration_stands_once_in_a_collection(today):
    car = VehicleFactory(registration="HM 77")
    problems = refused(add_vehicle, collection=car.collection, draft=described(), today=today)
    assert "already" in problems["/registration"]


@pytest.mark.parametrize("mark", ["HM77", "hm 77", "H M 7 7"])
def test_blanks_and_capitals_make_no_other_registration(today, mark):
    car = VehicleFactory(registration=mark)
    problems = refused(add_vehicle, collection=car.collection, draft=described(), today=today)
    assert f"a car {mark!r} already" in problems["/registration"]


def test_the_database_itself_takes_no_plate_twice(today):
    car = VehicleFactory(registration="HM 77")
    with pytest.raises(IntegrityError):
        VehicleFactory(registration="hm77", collection=car.collection)


def test_two_collections_may_have_a_car_of_the_same_registration(today):
    VehicleFactory(registration="HM 77")
    assert add_vehicle(collection=CollectionFactory(), draft=described(), today=today)


def test_every_fault_of_a_description_is_told_at_once(today):
    draft = described(
        make=" ",
        odometer_unit="kms",
        odometer_digits=7,
        nominal_voltage=24,
        inspection_regime="gbr",
        built_on=day("2027-01-01"),
        first_registered_on=day("1850-01-01"),
        expected_annual_distance=-5,
        season_from_month=4,
    )
    problems = refused(add_vehicle, collection=CollectionFactory(), draft=draft, today=today)
    assert set(problems) == {
        "/make",
        "/odometer_unit",
        "/odometer_digits",
        "/nominal_voltage",
        "/inspection_regime",
        "/built_on",
        "/first_registered_on",
        "/expected_annual_distance",
        "/season_to_month",
    }


def test_an_unknown_regime_is_refused_with_the_nearest_one(today):
    draft = described(inspection_regime="gbr")
    problems = refused(add_vehicle, collection=CollectionFactory(), draft=draft, today=today)
    assert "'gb'" in problems["/inspection_regime"]


def test_a_wrong_check_digit_is_a_warning_and_no_refusal(today):
    draft = described(chassis_number="1M8GDM9A0KP042788", built_on=day("1989-02-01"))
    _, warnings = add_vehicle(collection=CollectionFactory(), draft=draft, today=today)
    assert "'X'" in warnings[0]


def test_a_keeper_of_another_collection_is_refused(today):
    problems = refused(
        add_vehicle,
        collection=CollectionFactory(),
        draft=described(),
        keeper=MemberFactory(),
        today=today,
    )
    assert set(problems) == {"/keeper"}


def test_a_change_raises_the_version(today):
    car = VehicleFactory()
    changed, _ = change_vehicle(vehicle=car, version=1, changes={"model": "Swift"}, today=today)
    car.refresh_from_db()
    assert (car.model, car.version, changed.version) == ("Swift", 2, 2)


def test_a_change_of_an_outdated_version_is_refused(today):
    car = VehicleFactory()
    change_vehicle(vehicle=car, version=1, changes={"model": "Swift"}, today=today)
    with pytest.raises(Outdated):
        change_vehicle(vehicle=car, version=1, changes={"model": "Wren"}, today=today)


def test_a_car_keeps_its_own_registration(today):
    car = VehicleFactory(registration="HM 77")
    assert change_vehicle(
        vehicle=car, version=1, changes={"registration": "HM 77", "make": "Oxley"}, today=today
    )


def test_a_car_cannot_be_built_after_something_was_recorded_of_it(today):
    car = VehicleFactory(built_on=None, first_registered_on=None)
    LayUpFactory(vehicle=car, from_on=day("1969-10-01"), to_on=day("1970-04-01"))
    problems = refused(
        change_vehicle,
        vehicle=car,
        version=1,
        changes={"built_on": day("1970-01-01")},
        today=today,
    )
    assert "before the car was built, 1970-01-01" in problems["/built_on"]


def test_an_odometer_that_could_not_show_what_was_read_is_refused(today):
    car = VehicleFactory(odometer_digits=6)
    OdometerReadingFactory(vehicle=car, value=148000)
    problems = refused(
        change_vehicle, vehicle=car, version=1, changes={"odometer_digits": 5}, today=today
    )
    assert "148000" in problems["/odometer_digits"]


def test_an_odometer_on_which_the_readings_contradict_each_other_is_refused(today):
    # On five digits this was a roll-over; six digits do not pass 999 999 in half a year.
    car = VehicleFactory(odometer_digits=5)
    OdometerReadingFactory(vehicle=car, on=day("2026-01-01"), value=99900)
    OdometerReadingFactory(vehicle=car, on=day("2026-07-01"), value=1500)
    problems = refused(
        change_vehicle, vehicle=car, version=1, changes={"odometer_digits": 6}, today=today
    )
    assert "passing of the last digit" in problems["/odometer_digits"]


def in_km(car, today):
    return {
        "vehicle": car,
        "version": car.version,
        "changes": {"odometer_unit": "km"},
        "today": today,
    }


@pytest.mark.parametrize(
    "recorded",
    [
        OdometerReadingFactory,
        OdometerChangeFactory,
        partial(ServiceEventFactory, odometer=48000),
        partial(InspectionFactory, odometer=48000),
    ],
)
def test_the_unit_of_the_odometer_stays_while_a_figure_of_it_is_on_record(today, recorded):
    car = VehicleFactory(odometer_unit="mi")
    recorded(vehicle=car)
    problems = refused(change_vehicle, **in_km(car, today))
    assert "would be read as km" in problems["/odometer_unit"]


def test_a_unit_that_was_wrong_from_the_start_is_put_right_as_the_refusal_says(today, when):
    car = VehicleFactory(odometer_unit="mi")
    reading = OdometerReadingFactory(vehicle=car, on=day("2026-03-01"), value=Decimal(48000))
    done = ServiceEventFactory(vehicle=car, on_stated="2026-05-01", odometer=Decimal(48900))
    again = as_drafts.event_draft(done, entries=())
    withdraw(record=reading, reason="The unit is wrong.", **when)
    without = correct_service_event(
        event=done, draft=replace(again, odometer=None), reason="The unit is wrong.", **when
    )
    change_vehicle(**in_km(car, today))
    car.refresh_from_db()
    record_reading(vehicle=car, draft=as_drafts.reading_draft(reading), **when)
    right = correct_service_event(event=without, draft=again, reason="Now in km.", **when)
    assert (car.odometer_unit, right.odometer) == ("km", 48900)


def test_a_car_without_history_is_taken_out():
    car = VehicleFactory()
    remove_vehicle(vehicle=car, version=1)
    assert not Vehicle.objects.exists()


def test_a_car_with_a_history_stays():
    car = ServiceEventFactory().vehicle
    assert "service events" in refused(remove_vehicle, vehicle=car, version=1)[""]
