"""Tyres: flat spots from standing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.tyres import age_limits, flat_spot_day, too_old_to_fit
from maintenance.engine.days import NO_DAY

DAY = st.integers(0, 40_000)


@given(DAY)
def test_a_tyre_is_to_be_fitted_before_it_is_to_be_replaced(made):
    limits = age_limits(made)

    assert made < limits.fit_before < limits.replace_on


@given(DAY)
def test_a_tyre_may_still_be_fitted_on_its_sixth_anniversary(made):
    day = age_limits(made).fit_before

    assert too_old_to_fit(made, [day, day + 1]).tolist() == [False, True]


def test_a_car_is_moved_before_a_month_is_out():
    assert flat_spot_day(100).low == 130


def test_a_tyre_without_load_takes_no_flat_spot():
    spots = flat_spot_day(100, carries_load=False)

    assert np.isnan(spots.low) and str(spots.reason) == "the tyre carries no load"


@pytest.mark.parametrize("carries_load", [True, False])
def test_an_unknown_last_move_gives_no_day(carries_load):
    assert np.isnan(flat_spot_day(NO_DAY, carries_load=carries_load).high)
