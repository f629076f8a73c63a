"""A battery at rest: its charge, its self-discharge and the day to recharge it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.battery import (
    charge_to_gravity,
    gravity_to_charge,
    rest_voltage_to_charge,
    sulphated,
)
from maintenance.engine.ageing.climate import as_climate
from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.self_discharge import (
    RECHARGE_GRAVITY,
    gravity_through,
    recharge_through,
    self_discharge_rate,
)

GRADE = st.sampled_from(["heated", "dry", "damp", "outdoors"])
GRAVITY = st.floats(1.120, 1.300)


def stay(days, store):
    return (days, as_climate(store))


@given(st.floats(10.5, 13.2), st.floats(10.5, 13.2), st.floats(-17, 71))
def test_a_higher_voltage_is_never_a_lower_charge(one, other, temperature):
    lower, higher = rest_voltage_to_charge(sorted([one, other]), temperature).central

    assert lower <= higher


@given(st.floats(10.5, 13.2), st.floats(-17, 71))
def test_a_six_volt_battery_reads_as_half_a_twelve_volt_one(voltage, temperature):
    twelve = rest_voltage_to_charge(voltage, temperature, 12).central

    assert rest_voltage_to_charge(voltage / 2, temperature, 6).central == pytest.approx(twelve)


@given(st.floats(10.5, 13.2), st.floats(-17, 71))
def test_the_band_holds_both_readings_of_the_temperature_correction(voltage, temperature):
    charge = rest_voltage_to_charge(voltage, temperature)

    assert charge.low <= charge.central <= charge.high


@given(st.floats(0, 100))
def test_charge_and_gravity_are_there_and_back(charge):
    assert gravity_to_charge(charge_to_gravity(charge)) == pytest.approx(charge, abs=1e-9)


@given(GRADE, st.floats(1.226, 1.300))
def test_on_the_day_of_recharge_the_battery_is_still_above_the_limit(grade, start):
    day = recharge_through([stay(0, grade)], start).central

    assert gravity_through([stay(day, grade)], start).central >= RECHARGE_GRAVITY - 1e-9
    assert gravity_through([stay(day + 1, grade)], start).central < RECHARGE_GRAVITY + 1e-9


@given(GRADE, GRAVITY, st.floats(0, 2000))
def test_the_band_of_the_gravity_is_in_order(grade, start, days):
    gravity = gravity_through([stay(days, grade)], start)

    assert 1.120 <= gravity.low <= gravity.central <= gravity.high <= start


def test_a_battery_at_the_limit_is_to_be_charged_today():
    assert recharge_through([stay(0, "dry")], 1.225).high == 0


def test_a_warm_shelf_brings_the_recharge_forward():
    hot = measured_climate([0], [35], [50])

    there, here = ([stay(0, store)] for store in (hot, "dry"))
    assert recharge_through(there, 1.265).central < recharge_through(here, 1.265).central


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((9.0, 20, 12), "dead cell"),
        ((14.1, 20, 12), "not one at rest"),
        ((12.5, -30, 12), "temperature correction"),
        ((12.5, 20, 24), "neither 6 nor 12"),
        ((float("nan"), 20, 12), "no rest voltage"),
    ],
)
def test_a_voltage_that_tells_nothing_says_why(arguments, words):
    charge = rest_voltage_to_charge(*arguments)

    assert np.isnan(charge.central) and words in str(charge.reason)


def test_the_manual_states_no_rate_in_the_frost_nor_in_great_heat():
    assert np.isnan(self_discharge_rate([0, 45])).all()


@pytest.mark.parametrize("start", [1.0, 1.4, float("nan")])
def test_a_gravity_that_cannot_be_gives_no_day(start):
    assert np.isnan(recharge_through([stay(0, "dry")], start).low)
    assert np.isnan(gravity_through([stay(9, "dry")], start).low)


@pytest.mark.parametrize(
    ("charge", "days", "warned"), [(70, 30, True), (70, 29, False), (75, 400, False)]
)
def test_thirty_days_below_three_quarters_is_to_be_feared(charge, days, warned):
    assert bool(sulphated(charge, days)) is warned
