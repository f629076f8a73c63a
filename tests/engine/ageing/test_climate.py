"""A store's climate: the grade's made-up year, or the keeper's record."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.climate import GRADE_CONSTANTS, grade_climate, is_wet
from maintenance.engine.ageing.climate_record import (
    ClimateRecordError,
    measured_climate,
    measured_in,
    month_by_month,
)


@pytest.mark.parametrize("grade", sorted(GRADE_CONSTANTS))
def test_a_grade_has_the_yearly_mean_that_it_states(grade):
    climate = grade_climate(grade)

    assert climate.mean(climate.temperature_c) == pytest.approx(GRADE_CONSTANTS[grade].mean_c)


def test_a_store_is_coldest_in_january_and_warmest_in_july():
    temperatures = grade_climate("outdoors").temperature_c

    assert (temperatures.argmin() in (0, 11)) and (temperatures.argmax() in (5, 6))


def test_a_record_day_for_day_weighs_each_day_once():
    assert measured_climate([0, 1, 2], [10, 11, 12], [50, 50, 50]).weight_days.tolist() == [1, 1, 1]


def test_readings_of_one_day_share_it():
    assert measured_climate([0, 0, 1], [8, 12, 10], [50] * 3).weight_days.tolist() == [0.5, 0.5, 1]


def test_a_missing_day_goes_to_its_neighbours():
    assert measured_climate([0, 2], [8, 12], [50, 50]).weight_days.tolist() == [1.5, 1.5]


@given(st.lists(st.integers(0, 14), min_size=1, max_size=60))
def test_a_record_weighs_the_days_from_its_first_to_its_last(steps):
    days = np.cumsum(steps)

    climate = measured_climate(days, np.full(days.size, 10.0), np.full(days.size, 60.0))

    assert climate.weight_days.sum() == pytest.approx(days[-1] - days[0] + 1)


def stay(record, start, end):
    return month_by_month(record, start, end)


@given(
    st.integers(0, 400), st.integers(1, 400), st.lists(st.integers(0, 14), min_size=1, max_size=60)
)
def test_a_lay_up_weighs_just_its_own_days(start, length, steps):
    days = np.cumsum(steps)
    record = measured_climate(days, np.full(days.size, 10.0), np.full(days.size, 60.0))

    parts = stay(record, start, start + length)

    assert [part.start for part in parts[1:]] == [part.end for part in parts[:-1]]
    assert (parts[0].start, parts[-1].end) == (start, start + length)
    for part in parts:
        if part.climate is not None:
            assert part.climate.weight_days.sum() == pytest.approx(part.end - part.start)


def test_days_without_a_reading_are_left_to_the_grade():
    record = measured_climate(np.arange(10), np.full(10, 5.0), np.full(10, 50.0))

    parts = stay(record, 0, 20)

    assert [(part.start, part.end, part.climate is None) for part in parts] == [
        (0, 10, False),
        (10, 20, True),
    ]


def test_a_measured_stay_is_cut_at_the_ends_of_months():
    record = measured_climate(np.arange(90), np.full(90, 5.0), np.full(90, 50.0))

    assert [part.end for part in stay(record, 10, 80)] == [31, 59, 80]  # January, February 1970


def test_a_day_between_two_readings_takes_half_of_each():
    record = measured_climate([0, 2], [8, 12], [50, 60])

    (part,) = stay(record, 1, 2)

    assert part.climate.weight_days.tolist() == [0.5, 0.5]


def test_of_a_stay_outside_the_record_nothing_was_measured():
    assert measured_in(measured_climate([0], [5], [50]), 100, 200) is None


def test_a_lay_up_without_days_is_refused():
    with pytest.raises(ValueError, match="no days"):
        stay(measured_climate([0], [5], [50]), 10, 10)


def test_steel_is_wet_above_eighty_per_cent_and_freezing():
    wet = is_wet(np.array([5.0, -5.0, 5.0, 5.0]), np.array([90.0, 90.0, 70.0, 80.0]))

    assert wet.tolist() == [True, False, False, False]


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        (([0, 1], [10, float("nan")], [50, 50]), "row 2, °C: nan is no number"),
        (([0, 1], [10, 10], [50, float("nan")]), "row 2, %RH: nan is no number"),
        (([float("nan"), 1], [10, 10], [50, 50]), "row 1, day: nan is no day"),
        (([0, 1], [10, 72], [50, 50]), "row 2, °C: 72 is outside -40 to 60; check the unit"),
        (([0, 1], [10, 10], [50, 101]), "row 2, %RH: 101 is outside 0 to 100; check the unit"),
        (([5, 3], [10, 10], [50, 50]), "row 2, day: goes back by 2 days; put the rows in order"),
        (([0, 15], [10, 10], [50, 50]), "row 2, day: a gap of 15 days is longer than 14"),
        (([0, 1], [10], [50, 50]), "2 days, 1 temperatures and 2 humidities"),
        (([], [], []), "the record has no rows"),
    ],
)
def test_a_bad_row_is_refused_by_its_number(columns, words):
    with pytest.raises(ClimateRecordError) as refusal:
        measured_climate(*columns)

    assert words in str(refusal.value)


def test_all_bad_rows_are_named_at_once():
    with pytest.raises(ClimateRecordError) as refusal:
        measured_climate([0, 1, 2], [99, 10, 10], [50, -1, 50], first_row=2)

    assert [text[:6] for text in refusal.value.problems] == ["row 2,", "row 3,"]
