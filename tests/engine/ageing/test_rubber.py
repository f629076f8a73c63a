"""Rubber parts: age in the store, and on the shelf before it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.rubber import (
    POLYMERS,
    arrhenius_factor,
    equivalent_age,
    lay_up_factor,
    polymer_of,
)
from maintenance.engine.ageing.shelf_life import (
    SHELF_GROUPS,
    quarter_end,
    quarter_label,
    shelf_limits,
)
from maintenance.engine.days import NO_DAY

TEMPERATURE = st.floats(-40, 125)
ENERGY = st.floats(20, 150)


@given(TEMPERATURE, TEMPERATURE, ENERGY)
def test_there_and_back_is_one(one, other, energy):
    there, back = arrhenius_factor([one, other], [other, one], energy)

    assert there * back == pytest.approx(1)


@given(TEMPERATURE, TEMPERATURE, ENERGY)
def test_warmer_rubber_ages_faster(one, other, energy):
    cooler, warmer = sorted([one, other])

    assert arrhenius_factor(warmer, cooler, energy) >= 1


@given(st.floats(0, 20_000), st.sampled_from(sorted(POLYMERS)))
def test_a_hose_is_never_younger_than_the_calendar_says(days, polymer):
    age = equivalent_age(days, "dry", polymer)

    assert age.low <= age.central <= age.high
    assert days <= age.central


def test_a_cold_store_may_have_aged_a_hose_less_than_the_calendar():
    age = equivalent_age(1000, "dry", "NBR")

    # 11 °C on the mean at 92 kJ/mol against 20 °C: about a third
    assert age.central == 1000 and 250 < age.low < 450


def test_a_warm_store_spreads_the_age_by_the_activation_energies():
    warm = measured_climate([0], [30], [50])

    age = equivalent_age(100, warm, "NBR")

    assert (age.low, age.high) == (pytest.approx(196.74 * 1.0166, rel=0.01), pytest.approx(347.33))


@pytest.mark.parametrize(("temperature", "energy"), [(-300, 92), (20, 0), (20, -5)])
def test_an_impossible_store_or_energy_gives_no_factor(temperature, energy):
    assert np.isnan(arrhenius_factor(temperature, 20, energy))


def test_an_unknown_time_gives_no_age_and_says_why():
    age = equivalent_age([10, -1], "dry")

    assert age.reason.tolist() == ["", "the time in the store is not known or negative"]


def test_a_polymer_that_is_not_known_is_taken_at_its_worst():
    assert polymer_of("").central == max(polymer.central for polymer in POLYMERS.values())


def test_a_polymer_that_is_not_in_the_table_is_refused():
    with pytest.raises(ValueError, match="'XYZ' is not known; use one of"):
        lay_up_factor("dry", "XYZ")


def test_every_polymer_of_a_shelf_group_has_its_arrhenius_row():
    assert {p for group in SHELF_GROUPS for p in group.polymers} == set(POLYMERS)


@given(st.integers(-40_000, 60_000))
def test_a_quarter_ends_after_its_days_and_within_92_of_them(day):
    assert day <= quarter_end(day) <= day + 91


@given(st.integers(-40_000, 60_000))
def test_the_day_after_a_quarter_bears_another_label(day):
    assert quarter_label(day) != quarter_label(int(quarter_end(day)) + 1)


def test_a_day_that_is_not_known_stays_unknown():
    assert quarter_end([NO_DAY, 0]).tolist() == [NO_DAY, 89]


def test_a_polymer_without_a_shelf_period_is_refused():
    with pytest.raises(ValueError, match="no shelf period"):
        shelf_limits(0, "PVC")
