"""Later years of carbon steel against ISO 9224:2012, table 3 (read in a public copy)."""

import pytest

from maintenance.engine.ageing.steel_loss import (
    TIME_EXPONENT,
    UPPER_TIME_EXPONENT,
    careful_multiple,
    steel_loss,
    time_multiple,
)

# Years, and the multiple of the first year's loss with the exponents B1 and B2 for steel.
TABLE_3 = [
    (1, 1, 1),
    (2, 1.437, 1.49),
    (5, 2.32, 2.523),
    (10, 3.334, 3.758),
    (15, 4.122, 4.745),
    (20, 4.791, 5.599),
    (25, 5.384, 6.365),
    (40, 6.885, 8.34),
    (50, 7.737, 9.482),
    (100, 11.117, 14.125),
]


@pytest.mark.parametrize(("years", "b1", "b2"), TABLE_3)
def test_steel_loses_the_published_multiple_of_its_first_year(years, b1, b2):
    multiples = [time_multiple(years, b) for b in (TIME_EXPONENT, UPPER_TIME_EXPONENT)]

    assert multiples == pytest.approx([b1, b2], abs=0.0006)


# D(t > 20) = r [20^b + b 20^(b-1) (t - 20)], the standard's other formula, by hand with b = 0.523.
@pytest.mark.parametrize(("years", "multiple"), [(20, 4.7911), (30, 6.0440), (60, 9.8027)])
def test_after_twenty_years_the_careful_loss_is_even(years, multiple):
    assert careful_multiple(years) == pytest.approx(multiple, abs=1e-4)


def test_a_store_of_c3_takes_the_published_band_in_ten_years():
    loss = steel_loss(10, "C3")

    assert [loss.low, loss.high] == pytest.approx([25 * 3.334, 50 * 3.758], rel=1e-3)
