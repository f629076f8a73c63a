"""Oil, coolant and petrol in a car that stands."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.climate import grade_climate
from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.coolant import depletion_rate, may_freeze
from maintenance.engine.ageing.fuel import (
    keeps_through,
    long_storage_advice,
    stale_after,
    staling_rate,
)
from maintenance.engine.ageing.oil import renew_before_use


def test_petrol_halves_its_keeping_time_from_twenty_to_thirty_degrees():
    assert staling_rate(30, 50) == pytest.approx(2)  # six months at 20 °C, three at 30 °C


def test_petrol_in_a_dry_garage_keeps_three_to_six_months():
    keeps = stale_after("dry")

    assert (keeps.low, keeps.high) == (91, 182)


@given(st.floats(-40, 60), st.floats(0, 100), st.booleans())
def test_no_store_keeps_petrol_longer_than_six_months(temperature, humidity, outdoors):
    keeps = stale_after(measured_climate([0], [temperature], [humidity], outdoors=outdoors))

    assert keeps.low <= keeps.central <= keeps.high <= 182


def test_petrol_keeps_as_long_in_two_stays_of_a_store_as_in_one():
    whole = stale_after("damp")
    in_two = keeps_through([(40.0, grade_climate("damp")), (0.0, grade_climate("damp"))])

    assert (in_two.low, in_two.central, in_two.high) == (whole.low, whole.central, whole.high)


@given(st.floats(0, 400), st.integers(-40, 60), st.integers(0, 100))
def test_petrol_keeps_no_longer_than_in_the_kindest_store_nor_shorter_than_in_the_worst(
    days, celsius, humidity
):
    dry, other = grade_climate("dry"), measured_climate([0], [celsius], [humidity])
    ends = sorted(float(stale_after(store).central) for store in (dry, other))

    kept = keeps_through([(days, dry), (0.0, other)]).central

    assert ends[0] - 1 <= kept <= ends[1] + 1


@pytest.mark.parametrize(("months", "due"), [(11.9, False), (12, True), (float("nan"), True)])
def test_oil_is_renewed_before_use_after_a_year(months, due):
    assert bool(renew_before_use(months)) is due


def test_coolant_doubles_its_pace_from_twenty_to_thirty_degrees():
    assert depletion_rate(30) == pytest.approx(2, abs=1e-4)


def test_plain_water_freezes_in_an_unheated_garage():
    assert may_freeze(0, "dry")


def test_strong_coolant_does_not_freeze_outdoors():
    assert not may_freeze(-25, "outdoors")


def test_coolant_never_measured_may_freeze():
    assert may_freeze(np.nan, "heated")


@pytest.mark.parametrize(("months", "advised"), [(2, False), (2.1, True), (np.nan, True)])
def test_over_two_months_the_tank_is_thought_of(months, advised):
    assert bool(long_storage_advice(months)) is advised
