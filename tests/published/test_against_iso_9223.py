"""Corrosion of carbon steel against ISO 9223:2012 (tables and function read in a public copy)."""

import math

import pytest

from maintenance.engine.ageing.corrosion import (
    DOSE_RANGES,
    GRADE_CATEGORIES,
    category_of,
    first_year_band,
    first_year_loss,
)

BOUNDS = [
    ("C1", 0, 1.3),
    ("C2", 1.3, 25),
    ("C3", 25, 50),
    ("C4", 50, 80),
    ("C5", 80, 200),
    ("CX", 200, 700),
]


@pytest.mark.parametrize(("category", "low", "high"), BOUNDS)
def test_a_category_has_the_published_first_year_loss(category, low, high):
    assert first_year_band(category)[::2] == (low, high)


@pytest.mark.parametrize(("category", "low", "high"), BOUNDS)
def test_a_loss_falls_in_its_category(category, low, high):
    assert category_of([low + 0.01, high]).tolist() == [category, category]


# Table C.1: heated rooms C1; unheated stores with rare condensation C2; occasional condensation C3;
# outdoors in towns with moderate pollution C3.
def test_a_store_has_the_category_of_the_published_examples():
    assert GRADE_CATEGORIES == {"heated": "C1", "dry": "C2", "damp": "C3", "outdoors": "C3"}


def test_the_dose_response_function_has_its_published_range():
    assert list(DOSE_RANGES.values()) == [(-17.1, 28.7), (34, 93), (0.7, 150.4), (0.4, 760.5)]


# By hand at 10 °C, where the temperature term is nought, and one mg/(m² d) of each pollutant:
# 1.77 e^(0.020·80) + 0.102 e^(0.033·80 + 0.040·10).
def test_the_loss_at_ten_degrees_is_that_by_hand():
    by_hand = 1.77 * math.exp(1.6) + 0.102 * math.exp(3.04)

    assert first_year_loss(10, 80, 1, 1).central == pytest.approx(by_hand) == 10.8992


# f_St = 0.150 (T − 10) up to 10 °C and −0.054 (T − 10) above; chloride at its least.
@pytest.mark.parametrize(("temperature", "exponent"), [(0, -1.5), (20, -0.54)])
def test_the_temperature_term_turns_at_ten_degrees(temperature, exponent):
    sulphur = 1.77 * 10**0.52 * math.exp(0.02 * 70 + exponent)
    salt = 0.102 * 0.4**0.62 * math.exp(0.033 * 70 + 0.04 * temperature)

    assert first_year_loss(temperature, 70, 10, 0.4).central == pytest.approx(sulphur + salt)
