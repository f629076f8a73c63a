"""The months a car is driven in, learnt from its readings, and how honest the band around it is."""

import numpy as np
import pytest

from maintenance.engine.context import context
from maintenance.engine.days import NEVER
from maintenance.engine.seasonal import LEAST_SEGMENTS, Ahead, ahead, profile, reached, segments
from tests.benchmarks.bench_coverage import HIGH, LOW, coverage
from tests.engine.simulated_cars import ON, simulated_car


def past(seed=0):
    shared = context(simulated_car(seed).batch, ON)
    return segments(shared.distance, shared.stands)


def test_segments_hold_all_that_was_driven_between_the_first_reading_and_the_last():
    shared = context(simulated_car(1).batch, ON)
    found = segments(shared.distance, shared.stands)
    assert found.distance.sum() == shared.distance.travelled[-1] - shared.distance.travelled[0]


def test_a_month_in_store_has_no_days_in_use():
    assert past().days[:, [0, 1, 11]].sum() == 0


def test_a_profile_is_one_on_average_over_the_days_in_use():
    found = past()
    assert np.average(profile(found), weights=found.days.sum(axis=0)) == pytest.approx(1.0)


def test_cars_driven_evenly_have_an_even_profile():
    found = past()
    even = type(found)(
        found.vehicle, found.start, found.end, 1e8 * found.days.sum(axis=1), found.days
    )
    assert profile(even) == pytest.approx(np.ones(12), abs=1e-6)


def test_a_month_driven_twice_as_far_stands_out_after_many_years():
    found = past()
    june = np.eye(12)[5]
    days = np.tile(np.vstack([30 * june, 30 * np.ones(12) - 30 * june]), (40, 1))
    gone = days @ (1e8 * (1 + june))
    row = np.zeros(80, dtype=np.int64)
    weights = profile(type(found)(row, 30 * np.arange(80), 30 * np.arange(1, 81), gone, days))
    assert weights[5] / weights[6] == pytest.approx(2, rel=0.15)


def test_less_than_two_years_of_readings_make_no_profile():
    found = past()
    assert profile(found.of(np.flatnonzero(found.end < found.start[0] + 700))) is None


def test_too_few_segments_are_nothing_to_draw_from():
    found = past()
    few = found.of(np.arange(LEAST_SEGMENTS - 1))
    assert ahead(few, np.ones(12), np.arange(ON, ON + 365), np.ones(365)) is None


def test_a_car_in_store_covers_nothing_ahead():
    ways = ahead(past(), np.ones(12), np.arange(ON, ON + 60), np.zeros(60))
    assert not ways.driven.any()


def test_the_same_past_gives_the_same_band_each_time():
    day, used = np.arange(ON, ON + 400), np.ones(400)
    one, other = (ahead(past(), np.ones(12), day, used) for _ in range(2))
    assert np.array_equal(one.driven, other.driven)


def test_a_distance_that_few_paths_cover_has_an_early_edge_alone():
    # Ten cars that cover 1 to 10 km a day: one in ten has gone 18 km by the second day.
    paths = np.outer(np.arange(1, 11), np.arange(1, 3))
    ways = Ahead(np.array([ON, ON + 1]), paths.astype(float), 0.1)
    assert reached(ways, np.full(2, 20.0)) == (ON + 1, NEVER, NEVER)


def test_the_middle_is_the_day_by_which_half_the_paths_are_there():
    paths = np.outer(np.arange(1, 11), np.arange(1, 11))
    ways = Ahead(ON + np.arange(10), paths.astype(float), 0.1)
    assert reached(ways, np.full(10, 12.0)) == (ON + 1, ON + 1, ON + 5)


def test_the_band_of_eighty_per_cent_holds_about_four_in_five_true_due_days():
    held, *_ = coverage()
    assert LOW <= held <= HIGH
