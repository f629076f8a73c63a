"""Steel in a store: category, loss and when to look."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.corrosion import (
    CATEGORIES,
    category_of,
    category_of_store,
    first_year_band,
    first_year_loss,
    loss_rate,
)
from maintenance.engine.ageing.steel_loss import inspection_months, steel_loss, time_multiple

CATEGORY = st.sampled_from(sorted(CATEGORIES))
YEARS = st.floats(0, 98)


@given(YEARS, YEARS, CATEGORY)
def test_steel_never_grows_back(one, other, category):
    earlier, later = sorted([one, other])

    assert steel_loss(later, category).central >= steel_loss(earlier, category).central


@given(YEARS, CATEGORY)
def test_the_band_of_the_loss_is_in_order(years, category):
    loss = steel_loss(years, category)

    assert loss.low <= loss.central <= loss.high


@given(st.floats(0.3, 20), YEARS, CATEGORY)
def test_a_part_is_looked_at_between_a_month_and_two_years(wall, years, category):
    months = inspection_months(wall, years, category)

    assert 1 <= months.low <= months.central <= months.high <= 24


@given(st.floats(0.3, 10), st.floats(0, 10), YEARS, CATEGORY)
def test_a_thicker_wall_is_never_looked_at_sooner(wall, more, years, category):
    thick = inspection_months(wall + more, years, category)

    assert thick.central >= inspection_months(wall, years, category).central


@given(st.floats(-17.1, 28.7), st.floats(34, 92), st.floats(0, 1))
def test_damper_air_takes_more_steel(temperature, humidity, more):
    drier = first_year_loss(temperature, humidity).central

    assert first_year_loss(temperature, humidity + more).central >= drier


@pytest.mark.parametrize(("temperature", "humidity"), [(-20, 60), (30, 60), (10, 30), (10, 95)])
def test_the_function_is_not_carried_past_its_range(temperature, humidity):
    loss = first_year_loss(temperature, humidity)

    assert np.isnan(loss.central) and "outside the range" in str(loss.reason)


def test_a_factor_takes_the_edge_where_the_function_ends():
    assert loss_rate(np.array([60.0]), np.array([100.0])) == loss_rate(
        np.array([28.7]), np.array([93.0])
    )


def test_a_loss_that_is_no_loss_has_no_category():
    assert category_of([-1, float("nan"), 701]).tolist() == ["", "", ""]


def test_a_century_is_as_far_as_the_line_goes():
    assert np.isnan(time_multiple([101, -1])).all()


def test_a_wall_outside_the_range_gives_no_date_and_says_why():
    months = inspection_months([0.1, 1.0], [0, 99], "C3")

    assert np.isnan(months.low).all() and all(months.reason)


def test_an_unknown_category_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="'C9' is not known; use one of C1"):
        first_year_band("C9")


def test_a_heated_garage_is_the_least_corrosive():
    assert category_of_store("heated") == "C1"


def test_a_measured_store_takes_its_category_from_its_air():
    assert category_of_store(measured_climate([0], [10], [93])) == "C3"
