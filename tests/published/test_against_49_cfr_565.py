"""Check digits against 49 CFR 565.15(c), tables of values and weights (primary text read)."""

import pytest

from maintenance.engine.vin import check_digit, check_digit_warning, weighted_sum

# The first is the regulation's own sample; the others are cited in secondary pages.
PUBLISHED = [
    ("1G4AH59H45G118341", 411, "4"),
    ("1J9RP1A36A1644345", 314, "6"),
    ("1M8GDM9AXKP042788", 351, "X"),
    ("11111111111111111", 89, "1"),
    ("5GZCZ43D13S812715", 408, "1"),
]


@pytest.mark.parametrize(("vin", "total", "digit"), PUBLISHED)
def test_the_weighted_sum_is_the_published_one(vin, total, digit):
    assert weighted_sum(vin) == total


@pytest.mark.parametrize(("vin", "total", "digit"), PUBLISHED)
def test_the_check_digit_is_the_published_one(vin, total, digit):
    assert check_digit(vin) == digit == vin[8]


@pytest.mark.parametrize(("vin", "total", "digit"), PUBLISHED)
def test_a_published_number_gives_no_warning(vin, total, digit):
    assert check_digit_warning(vin, year=None) is None
