"""The inspection regimes as they are delivered."""

import pytest

from maintenance.catalogue.load import catalogue

REGIMES = catalogue().regimes


def test_the_countries_asked_for_are_there():
    assert {"gb", "ni", "eu", "de", "fr", "nl", "pt"} <= set(REGIMES)


@pytest.mark.parametrize("code", REGIMES)
def test_a_regime_tells_how_and_when_its_facts_were_read(code):
    regime = REGIMES[code]

    assert all(f"({s.basis} {s.read_on:%Y-%m-%d})" in regime.source for s in regime.sources)


@pytest.mark.parametrize("code", [c for c, r in REGIMES.items() if r.exempt_after_months])
def test_no_car_is_exempt_by_age_before_it_is_forty_years_old(code):
    assert REGIMES[code].exempt_after_months >= 480


@pytest.mark.parametrize("code", REGIMES)
def test_no_country_lets_more_than_five_years_pass_without_an_inspection(code):
    assert max(band.every_months for band in REGIMES[code].bands) <= 60


def test_in_portugal_inspections_come_yearly_from_the_eighth_year():
    bands = [(band.from_age_months, band.every_months) for band in REGIMES["pt"].bands]

    assert bands == [(48, 24), (96, 12)]


def test_in_the_netherlands_an_old_petrol_car_goes_back_to_two_years():
    bands = [(band.from_age_months, band.every_months) for band in REGIMES["nl"].bands]

    assert bands == [(48, 24), (96, 12), (360, 24)]
