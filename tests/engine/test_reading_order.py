import datetime
from decimal import Decimal
from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.columns import (
    NEW_INSTRUMENT,
    OLD_INSTRUMENT,
    PLAIN_READING,
    Readings,
    Vehicles,
)
from maintenance.engine.days import to_day
from maintenance.engine.odometer import true_distance
from maintenance.engine.reading_order import (
    Instrument,
    Odometer,
    Shown,
    contradictions,
    placed,
)

FIVE_DIGITS = Odometer("km", 5)
NEW_YEAR = datetime.date(2019, 1, 1)


def shown(earliest, value, latest=None, instrument=Instrument.PLAIN):
    first = datetime.date.fromisoformat(earliest)
    last = datetime.date.fromisoformat(latest) if latest else first
    return Shown(
        earliest=first,
        latest=last,
        value=Decimal(value),
        record=f"{earliest} {value}",
        instrument=instrument,
    )


def of_2019(value):
    return shown("2019-01-01", value, "2019-12-31")


def day_of(reading, readings):
    return next(one.earliest for one in readings if one.record == reading.record)


@given(
    st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 200)), min_size=1, max_size=20),
    st.randoms(use_true_random=False),
)
def test_a_car_driven_forward_never_contradicts_itself(steps, random):
    day, value, readings = NEW_YEAR, 0, []
    for days, km in steps:
        day, value = day + datetime.timedelta(days=days), value + km
        readings.append(shown(day.isoformat(), value))
    random.shuffle(readings)
    assert contradictions(readings, FIVE_DIGITS) == []


@given(st.lists(st.integers(1, 60), min_size=2, max_size=20), st.data())
def test_the_year_alone_never_makes_a_true_reading_false(gaps, data):
    # A reading every few days of 2019 and after, of some of which only the year is kept.
    readings, day = [], NEW_YEAR
    for place, days in enumerate(gaps):
        day += datetime.timedelta(days=days)
        vague = day.year == 2019 and data.draw(st.booleans())
        readings.append(
            of_2019(1000 + 50 * place) if vague else shown(day.isoformat(), 1000 + 50 * place)
        )
    assert contradictions(readings, FIVE_DIGITS) == []


def test_a_reading_of_a_year_goes_to_its_first_day():
    vague = of_2019(50000)
    assert day_of(vague, placed([vague], FIVE_DIGITS)) == NEW_YEAR


def test_a_reading_of_a_year_goes_behind_the_lower_readings_of_that_year():
    vague = of_2019(62000)
    readings = placed([shown("2019-06-01", 60000), vague], FIVE_DIGITS)
    assert day_of(vague, readings) == datetime.date(2019, 6, 1)


def test_a_reading_of_a_year_is_not_taken_for_a_roll_over_where_another_day_fits():
    # 98 000 km in 364 days would pass for a roll-over.
    vague = of_2019(62000)
    readings = placed([shown("2019-12-31", 60000), vague], FIVE_DIGITS)
    assert day_of(vague, readings) == datetime.date(2019, 12, 31)


def test_a_reading_of_a_month_is_placed_before_one_of_the_year():
    month = shown("2019-03-01", 60000, "2019-03-31")
    year = of_2019(61000)
    assert contradictions([year, month], FIVE_DIGITS) == []


def test_a_reading_of_a_year_that_fits_no_day_is_named():
    vague = of_2019(40000)
    pairs = contradictions([shown("2018-06-01", 50000), vague], FIVE_DIGITS)
    assert [after.record for _, after in pairs] == [vague.record]


def test_readings_on_the_day_of_a_change_go_with_the_nearer_instrument():
    readings = [
        shown("2019-06-01", 12),
        shown("2019-06-01", 48100, instrument=Instrument.OLD),
        shown("2019-06-01", 0, instrument=Instrument.NEW),
        shown("2019-06-01", 48090),
    ]
    order = [int(one.value) for one in placed(readings, FIVE_DIGITS)]
    assert order == [48090, 48100, 0, 12]


def test_a_used_instrument_may_show_more_than_the_old_one():
    readings = [
        shown("2019-05-01", 48000),
        shown("2019-06-01", 48100, instrument=Instrument.OLD),
        shown("2019-06-01", 71000, instrument=Instrument.NEW),
        shown("2019-07-01", 71200),
    ]
    assert contradictions(readings, FIVE_DIGITS) == []


def test_the_old_instrument_must_follow_the_readings_before_it():
    readings = [
        shown("2019-05-01", 48000),
        shown("2019-06-01", 47000, instrument=Instrument.OLD),
        shown("2019-06-01", 0, instrument=Instrument.NEW),
    ]
    assert len(contradictions(readings, FIVE_DIGITS)) == 1


def test_the_last_digit_may_be_passed_within_a_day():
    readings = [shown("2019-06-01", "0.5"), shown("2019-06-01", "99999.9")]
    assert contradictions(readings, FIVE_DIGITS) == []
    assert [float(one.value) for one in placed(readings, FIVE_DIGITS)] == [99999.9, 0.5]


def test_more_than_a_days_drive_over_the_last_digit_is_none():
    readings = [shown("2019-06-01", 98000), shown("2019-06-01", 1001)]
    assert len(contradictions(readings, FIVE_DIGITS)) == 1


def test_the_engine_goes_on_over_the_last_digit_within_a_day():
    readings = [shown("2019-06-01", 10), shown("2019-06-01", 99990), shown("2019-06-03", 40)]
    assert _by_the_engine(readings) == _unrolled(placed(readings, FIVE_DIGITS)) == 1_000_400


def test_a_roll_over_of_just_under_100_000_km_a_year_stands():
    # 365.25 days would allow 100 000 km; 365 days allow 99 931.5.
    allowed = [shown("2018-01-01", 50000), shown("2019-01-01", 49931)]
    assert contradictions(allowed, FIVE_DIGITS) == []


def test_a_roll_over_of_just_over_100_000_km_a_year_does_not_stand():
    readings = [shown("2018-01-01", 50000), shown("2019-01-01", 49932)]
    assert len(contradictions(readings, FIVE_DIGITS)) == 1


def _unrolled(order):
    """Tenths of the odometer's unit: the first reading, and what was travelled to the last."""
    total = int(order[0].value * 10)
    for before, after in pairwise(order):
        if after.instrument is not Instrument.NEW:
            total += int((after.value - before.value) * 10) % (FIVE_DIGITS.turn * 10)
    return total


def _by_the_engine(order):
    """The same from the engine's columns, where one car is a batch of one."""
    ones, none = np.ones(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    car = Vehicles(none, none, none > 0, ones * 10, ones * 5, none, none, none, none)
    kinds = {
        Instrument.PLAIN: PLAIN_READING,
        Instrument.OLD: OLD_INSTRUMENT,
        Instrument.NEW: NEW_INSTRUMENT,
    }
    readings = Readings(
        np.zeros(len(order), dtype=np.int64),
        np.array([to_day(one.earliest) for one in order]),
        np.array([int(one.value * 10) for one in order]),
        np.array([kinds[one.instrument] for one in order]),
    )
    return int(true_distance(readings, car, to_day(datetime.date(2100, 1, 1))).travelled[-1])


@given(
    st.lists(st.tuples(st.integers(0, 200), st.integers(0, 9000)), min_size=2, max_size=15),
    st.integers(0, 14),
    st.integers(0, 99999),
    st.randoms(use_true_random=False),
)
def test_the_engine_unrolls_readings_in_the_order_in_which_they_were_checked(
    steps, changed, new_value, random
):
    day, value, readings = NEW_YEAR, 90000, []
    for place, (days, tenths) in enumerate(steps):
        day, value = day + datetime.timedelta(days=days), (value + Decimal(tenths) / 10) % 100000
        if place == changed and days > 0:
            readings.append(shown(day.isoformat(), value, instrument=Instrument.OLD))
            readings.append(shown(day.isoformat(), new_value, instrument=Instrument.NEW))
            value = Decimal(new_value)
        else:
            readings.append(shown(day.isoformat(), value))
    random.shuffle(readings)
    order = placed(readings, FIVE_DIGITS)
    assert _by_the_engine(readings) == _unrolled(order)
