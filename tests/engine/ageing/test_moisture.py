"""Water in brake fluid, and the boiling point that it leaves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.boiling_points import boiling_point, water_from_boiling_point
from maintenance.engine.ageing.climate import grade_climate
from maintenance.engine.ageing.hydraulic_fluids import FLUIDS, GLYCOL, exemption, mixing_warning
from maintenance.engine.ageing.moisture import (
    days_until,
    saturation_content,
    water_content,
    water_history,
)

GLYCOLS = st.sampled_from([fluid for fluid in FLUIDS.values() if fluid.base == GLYCOL])
HUMIDITY = st.floats(0, 100)
WATER = st.floats(0, 10)
DAYS = st.floats(0, 20_000)


@given(DAYS, HUMIDITY, WATER)
def test_the_band_is_in_order(days, humidity, start):
    water = water_content(days, humidity, start)

    assert water.low <= water.central <= water.high


@given(DAYS, HUMIDITY, WATER)
def test_water_stays_between_the_start_and_the_balance_with_the_air(days, humidity, start):
    water = water_content(days, humidity, start)
    ends = sorted([start, float(saturation_content(humidity))])

    assert ends[0] - 1e-9 <= water.low and water.high <= ends[1] + 1e-9


@given(DAYS, st.floats(0, 2_000), HUMIDITY)
def test_fresh_fluid_never_dries(days, more, humidity):
    assert water_content(days + more, humidity).central >= water_content(days, humidity).central


@given(DAYS, HUMIDITY, WATER)
def test_two_spells_in_one_store_are_one_long_spell(days, humidity, start):
    in_two = water_history([days / 3, days * 2 / 3], [humidity, humidity], start).central[-1]

    assert in_two == pytest.approx(water_content(days, humidity, start).central, abs=1e-9)


@given(st.floats(0.1, 5.0))
def test_the_day_of_a_content_has_that_content(limit):
    day = days_until(limit).central

    assert water_content(day).central == pytest.approx(limit)


@given(WATER, WATER, GLYCOLS)
def test_wetter_fluid_boils_lower(one, other, fluid):
    less, more = sorted([one, other])

    assert boiling_point(more, fluid).central <= boiling_point(less, fluid).central


@given(WATER, GLYCOLS)
def test_a_measured_boiling_point_gives_back_the_water(water, fluid):
    measured = boiling_point(water, fluid).central

    assert water_from_boiling_point(measured, fluid).central == pytest.approx(water, abs=1e-9)


@given(DAYS, GLYCOLS)
def test_the_wet_edge_of_the_water_is_the_low_edge_of_the_boiling_point(days, fluid):
    boils = boiling_point(water_content(days), fluid)

    assert boils.low <= boils.central <= boils.high


def test_a_measured_content_corrects_the_curve_from_its_day():
    on_the_day = water_content(0, 60, start=2.6)

    assert on_the_day.low == on_the_day.central == on_the_day.high == pytest.approx(2.6)


def test_old_fluid_goes_on_below_the_wet_minimum():
    assert boiling_point(7.0, FLUIDS["dot-4"]).central < FLUIDS["dot-4"].wet_c


def test_a_measured_record_is_a_history_of_spells():
    damp = grade_climate("damp")

    year = water_history(damp.weight_days, damp.humidity).central[-1]

    assert year == pytest.approx(water_content(365.25, 90).central)


def test_fluid_better_than_its_grade_counts_as_dry():
    assert water_from_boiling_point(265.0, FLUIDS["dot-4"]).central == 0


def test_a_dry_store_never_brings_fluid_to_the_wet_test():
    never = days_until(3.7, humidity=20)

    assert np.isnan(never.central) and "not take up so much" in str(never.reason)


def test_fluid_already_that_wet_is_there_today():
    assert days_until(2.0, start=3.0).high == 0


@pytest.mark.parametrize("water", [-0.1, 10.1, float("nan")])
def test_the_curve_is_not_carried_on_past_its_range(water):
    boils = boiling_point(water, FLUIDS["dot-3"])

    assert np.isnan(boils.central) and "0 to 10 %" in str(boils.reason)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [((-1, 60, 0), "time"), ((1, 130, 0), "humidity"), ((1, 60, 12), "water content")],
)
def test_a_bad_figure_leaves_no_estimate_and_says_why(arguments, words):
    water = water_content(*arguments)

    assert np.isnan(water.high) and words in str(water.reason)


def test_a_bad_spell_leaves_no_estimate_from_there_on():
    assert np.isnan(water_history([10, -1, 10], [60, 60, 60]).central).tolist() == [0, 1, 1]


@pytest.mark.parametrize("boils", [500.0, 90.0, float("nan")])
def test_an_impossible_boiling_point_gives_no_water(boils):
    water = water_from_boiling_point(boils, FLUIDS["dot-3"])

    assert np.isnan(water.central) and str(water.reason)


def test_silicone_follows_no_curve_but_is_inspected():
    boils = boiling_point(1.0, FLUIDS["dot-5"])

    assert np.isnan(boils.central) and "inspect it" in str(boils.reason)


@given(GLYCOLS)
def test_no_glycol_fluid_is_exempt_from_the_curve(fluid):
    assert exemption(fluid) == ""


def test_silicone_tells_no_water_by_its_boiling_point():
    assert "silicone" in str(water_from_boiling_point(200.0, FLUIDS["dot-5"]).reason)


def test_mineral_oil_follows_no_curve():
    assert "mineral oil" in str(boiling_point(1.0, FLUIDS["mineral"]).reason)


@pytest.mark.parametrize("added", ["dot-5", "mineral"])
def test_another_base_in_the_reservoir_warns(added):
    assert "must not be mixed" in mixing_warning(FLUIDS["dot-4"], FLUIDS[added])


def test_a_lower_grade_of_the_same_base_warns_of_its_boiling_point():
    assert "boils lower" in mixing_warning(FLUIDS["dot-5.1"], FLUIDS["dot-4"])


def test_a_better_grade_of_the_same_base_warns_of_nothing():
    assert mixing_warning(FLUIDS["dot-3"], FLUIDS["dot-4"]) == ""
