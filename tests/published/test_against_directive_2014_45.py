"""Inspection intervals against Directive 2014/45/EU, Article 5(1) (primary text read).

M1: four years after first registration, then every two years. It is a minimum: a member state may
ask for more, never for less of an ordinary car. Great Britain, outside it, asks for more too.
"""

import pytest

from maintenance.catalogue.load import catalogue

#: Collectors' vehicles are left to the member states by Article 2(2).
ORDINARY = ["gb", "ni", "de", "fr", "nl", "pt"]


def test_a_private_car_is_inspected_at_four_years_and_every_two_after():
    regime = catalogue().regimes["eu"]
    (band,) = regime.bands

    assert (regime.first_after_months, band.every_months) == (48, 24)


@pytest.mark.parametrize("code", ORDINARY)
def test_no_country_asks_less_of_a_private_car(code):
    regime = catalogue().regimes[code]

    assert regime.first_after_months <= 48
    assert all(band.every_months <= 24 for band in regime.bands)
