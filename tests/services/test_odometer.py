import datetime
from decimal import Decimal

import pytest

from maintenance.models import OdometerReading
from maintenance.services.drafts import OdometerChangeDraft, ReadingDraft
from maintenance.services.evidence import withdraw
from maintenance.services.odometer import correct_reading, record_change, record_reading
from tests.factories import (
    InspectionFactory,
    OdometerChangeFactory,
    OdometerReadingFactory,
    ServiceEventFactory,
    VehicleFactory,
)
from tests.services.asking import refused

pytestmark = pytest.mark.django_db


def reading(on, value):
    return ReadingDraft(on=datetime.date.fromisoformat(on), value=Decimal(value))


def test_a_reading_is_recorded_with_who_and_when(when):
    made = record_reading(vehicle=VehicleFactory(), draft=reading("2026-11-01", "48210.5"), **when)
    made.refresh_from_db()
    assert (made.value, made.recorded_at, made.current) == (Decimal("48210.5"), when["at"], True)


def test_a_reading_of_tomorrow_is_refused(when):
    problems = refused(
        record_reading, vehicle=VehicleFactory(), draft=reading("2026-11-26", 48000), **when
    )
    assert "after today" in problems["/on"]


def test_a_reading_from_before_the_car_was_built_is_refused(when):
    car = VehicleFactory(built_on=datetime.date(1968, 3, 4))
    problems = refused(record_reading, vehicle=car, draft=reading("1968-03-03", 5), **when)
    assert "before the car was built, 1968-03-04" in problems["/on"]


def test_a_car_of_unknown_build_may_have_stood_five_years_before_its_registration(when):
    car = VehicleFactory(built_on=None, first_registered_on=datetime.date(1968, 2, 29))
    assert record_reading(vehicle=car, draft=reading("1963-02-28", 5), **when)


def test_more_than_five_years_before_registration_is_refused(when):
    car = VehicleFactory(built_on=None, first_registered_on=datetime.date(1968, 2, 29))
    problems = refused(record_reading, vehicle=car, draft=reading("1963-02-27", 5), **when)
    assert "more than 5 years before" in problems["/on"]


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-1", "100000", "1.25"])
def test_a_reading_that_a_five_digit_odometer_cannot_show_is_refused(value, when):
    problems = refused(
        record_reading,
        vehicle=VehicleFactory(odometer_digits=5),
        draft=reading("2026-11-01", value),
        **when,
    )
    assert set(problems) == {"/value"}


def test_a_reading_below_an_earlier_one_is_refused_with_both_named(when):
    earlier = OdometerReadingFactory(on=datetime.date(2026, 5, 1), value=48000)
    problems = refused(
        record_reading, vehicle=earlier.vehicle, draft=reading("2026-11-01", 47000), **when
    )
    assert "47000 km (reading of 2026-11-01) is below the earlier 48000 km" in problems["/value"]


def test_a_reading_below_that_of_a_service_event_is_refused(when):
    event = ServiceEventFactory(on=datetime.date(2026, 5, 1), odometer=48000)
    problems = refused(
        record_reading, vehicle=event.vehicle, draft=reading("2026-11-01", 47000), **when
    )
    assert "service event of 2026-05-01" in problems["/value"]


def test_a_reading_below_that_of_an_inspection_is_refused(when):
    inspection = InspectionFactory(on=datetime.date(2026, 5, 1), odometer=48000)
    problems = refused(
        record_reading, vehicle=inspection.vehicle, draft=reading("2026-11-01", 47000), **when
    )
    assert "inspection of 2026-05-01" in problems["/value"]


def test_an_odometer_may_pass_its_last_digit(when):
    before = OdometerReadingFactory(on=datetime.date(2026, 5, 1), value=99900)
    assert record_reading(vehicle=before.vehicle, draft=reading("2026-11-01", 1200), **when)


def test_a_roll_over_at_100_000_km_a_year_is_refused(when):
    before = OdometerReadingFactory(on=datetime.date(2025, 11, 1), value=50000)
    problems = refused(
        record_reading, vehicle=before.vehicle, draft=reading("2026-11-01", 49999), **when
    )
    assert "passing of the last digit" in problems["/value"]


def test_a_roll_over_in_miles_is_measured_in_kilometres(when):
    # 65 000 mi in a year are 104 607 km.
    car = VehicleFactory(odometer_unit="mi")
    OdometerReadingFactory(vehicle=car, on=datetime.date(2025, 11, 1), value=50000)
    assert refused(record_reading, vehicle=car, draft=reading("2026-11-01", 15000), **when)


def test_a_changed_instrument_explains_a_lower_reading(when):
    change = OdometerChangeFactory(on=datetime.date(2026, 6, 1), old_value=48100, new_value=0)
    assert record_reading(vehicle=change.vehicle, draft=reading("2026-11-01", 700), **when)


def test_readings_of_one_day_further_apart_than_a_days_drive_are_refused(when):
    first = OdometerReadingFactory(on=datetime.date(2026, 5, 1), value=48000)
    problems = refused(
        record_reading, vehicle=first.vehicle, draft=reading("2026-05-01", 52000), **when
    )
    assert "a day's drive" in problems["/value"]


def test_a_corrected_reading_keeps_the_wrong_one_in_sight(when):
    wrong = OdometerReadingFactory(value=84000)
    right = correct_reading(
        reading=wrong, draft=reading("2026-05-01", 48000), reason="digits swapped", **when
    )
    wrong.refresh_from_db()
    assert (wrong.current, right.current, right.supersedes_id) == (False, True, wrong.pk)


def test_a_correction_without_a_reason_is_refused(when):
    wrong = OdometerReadingFactory()
    problems = refused(
        correct_reading, reading=wrong, draft=reading("2026-05-01", 1), reason=" ", **when
    )
    assert set(problems) == {"/reason"}


def test_a_reading_is_corrected_once(when):
    wrong = OdometerReadingFactory()
    fix = {"reading": wrong, "draft": reading("2026-05-01", 1), "reason": "misread"}
    correct_reading(**fix, **when)
    assert "corrected or withdrawn before" in refused(correct_reading, **fix, **when)[""]


def test_a_refused_correction_leaves_the_reading_in_force(when):
    wrong = OdometerReadingFactory()
    refused(correct_reading, reading=wrong, draft=reading("2027-05-01", 1), reason="x", **when)
    assert OdometerReading.objects.get().current


def test_a_withdrawn_reading_no_longer_contradicts_others(when):
    wrong = OdometerReadingFactory(on=datetime.date(2026, 5, 1), value=84000)
    withdraw(record=wrong, reason="of another car", **when)
    assert record_reading(vehicle=wrong.vehicle, draft=reading("2026-11-01", 48000), **when)


def test_a_change_of_instrument_that_explains_a_reading_cannot_be_withdrawn(when):
    change = OdometerChangeFactory(on=datetime.date(2026, 6, 1), old_value=48100, new_value=0)
    OdometerReadingFactory(vehicle=change.vehicle, on=datetime.date(2026, 5, 1), value=48000)
    OdometerReadingFactory(vehicle=change.vehicle, on=datetime.date(2026, 6, 20), value=90)
    problems = refused(withdraw, record=change, reason="never happened", **when)
    assert "90 km (reading of 2026-06-20)" in problems[""]


def test_an_instrument_is_changed_once_a_day(when):
    change = OdometerChangeFactory(on=datetime.date(2026, 6, 1))
    draft = OdometerChangeDraft(on=change.on, old_value=Decimal(48200), new_value=Decimal(0))
    assert "already" in refused(record_change, vehicle=change.vehicle, draft=draft, **when)["/on"]
