"""The line of wear and its band against an independent regression library, statsmodels."""

import numpy as np
import pytest
import statsmodels.api as sm

from maintenance.engine.wear import Points, fit

#: Kilometres since the renewal and lining thickness in millimetres; invented.
USE = np.array([4_000.0, 9_500.0, 15_000.0, 22_000.0, 30_500.0])
VALUE = np.array([10.3, 9.1, 8.2, 6.6, 5.1])
LIMIT = 2.0


def line(new):
    one = np.ones(1, dtype=bool)
    points = Points(np.zeros(USE.size, dtype=np.int64), USE, VALUE)
    return fit(points, np.array([new]), np.array([LIMIT]), one, one)


def band_at(model, use, intercept):
    row = np.array([[1.0, use]]) if intercept else np.array([[use]])
    return model.get_prediction(row).conf_int(obs=True, alpha=0.2)[0]


def test_a_line_without_a_value_when_new_is_that_of_ordinary_least_squares():
    model = sm.OLS(VALUE, sm.add_constant(USE)).fit()
    found = line(np.nan)
    assert (found.intercept[0], found.slope[0]) == pytest.approx(model.params, rel=1e-10)
    assert found.spread[0] == pytest.approx(np.sqrt(model.mse_resid), rel=1e-10)


def test_a_line_from_the_value_when_new_is_that_of_regression_through_a_point():
    model = sm.OLS(VALUE - 11.0, USE[:, None]).fit()
    found = line(11.0)
    assert found.slope[0] == pytest.approx(model.params[0], rel=1e-10)
    assert found.spread[0] == pytest.approx(np.sqrt(model.mse_resid), rel=1e-10)


@pytest.mark.parametrize("new", [np.nan, 11.0])
def test_at_the_edges_of_the_band_the_prediction_interval_meets_the_limit(new):
    free = np.isnan(new)
    start = 0.0 if free else new
    use = sm.add_constant(USE) if free else USE[:, None]
    model = sm.OLS(VALUE - start, use).fit()
    found = line(new)
    assert start + band_at(model, found.early[0], free)[0] == pytest.approx(LIMIT, abs=1e-9)
    assert start + band_at(model, found.late[0], free)[1] == pytest.approx(LIMIT, abs=1e-9)
