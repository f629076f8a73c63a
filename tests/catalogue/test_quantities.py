"""A reading that cannot be true is refused with the likely reason."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.catalogue.load import catalogue

QUANTITIES = catalogue().quantities


def test_a_tread_of_eighty_millimetres_is_taken_for_a_wrong_unit():
    assert QUANTITIES["tread_depth"].refusal(Decimal(80)) == (
        "80 mm is more than the 8 mm of a new tyre; check the unit"
    )


def test_a_lining_thinner_than_nothing_is_refused():
    assert QUANTITIES["lining_thickness"].refusal(Decimal("-0.1")) == (
        "-0.1 mm is less than no lining at all; check the unit"
    )


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_is_no_reading(number):
    assert "not a number" in QUANTITIES["rest_voltage"].refusal(Decimal(number))


@given(st.sampled_from(sorted(QUANTITIES)), st.data())
def test_a_reading_within_the_range_is_believed(slug, data):
    quantity = QUANTITIES[slug]
    reading = data.draw(st.decimals(quantity.minimum, quantity.maximum, places=2))

    assert quantity.refusal(reading) is None


@given(st.sampled_from(sorted(QUANTITIES)), st.decimals("0.01", 1000, places=2))
def test_a_reading_beyond_the_range_is_refused(slug, beyond):
    quantity = QUANTITIES[slug]

    assert quantity.refusal(quantity.maximum + beyond) and quantity.refusal(
        quantity.minimum - beyond
    )


@pytest.mark.parametrize(
    ("slug", "unit"),
    [
        ("lining_thickness", "mm"),
        ("disc_thickness", "mm"),
        ("tread_depth", "mm"),
        ("water_content", "%"),
        ("boiling_point", "°C"),
        ("rest_voltage", "V"),
    ],
)
def test_a_quantity_is_recorded_in_the_unit_of_the_trade(slug, unit):
    assert QUANTITIES[slug].unit == unit
