"""Tyre date codes against 49 CFR 574.5: week and year of manufacture.

Four digits since 2000 by 64 FR 36807 (8 July 1999, primary text read). That week 01 is the first
full week from Sunday to Saturday is from memory; the days below follow from it by calendar.
"""

import datetime

import pytest

from maintenance.engine.tyre_codes import read_date_code

SUNDAYS = {
    "3500": "2000-08-27",
    "2501": "2001-06-24",
    "3208": "2008-08-10",
    "0712": "2012-02-12",
    "0100": "2000-01-02",
    "5300": "2000-12-31",
    "5323": "2023-12-31",
    "0124": "2024-01-07",
    "0117": "2017-01-01",
}


@pytest.mark.parametrize(("code", "sunday"), SUNDAYS.items())
def test_a_four_digit_code_names_the_sunday_its_week_begins_on(code, sunday):
    assert read_date_code(code).earliest == datetime.date.fromisoformat(sunday)


def test_a_week_of_a_tyre_is_not_the_iso_week_of_that_number():
    # Week 01 of 2024 is 7 to 13 January; ISO week 1 is 1 to 7 January.
    assert read_date_code("0124").earliest != datetime.date.fromisocalendar(2024, 1, 1)


def test_2024_has_no_week_53():
    with pytest.raises(ValueError, match="2024 has no week 53"):
        read_date_code("5324")


@pytest.mark.parametrize(("decade", "year"), [(1980, 1989), (1990, 1999)])
def test_439_is_week_43_of_the_ninth_year_of_its_decade(decade, year):
    week = read_date_code("439", decade=decade)
    first = read_date_code("019", decade=decade)
    assert (week.earliest.year, (week.earliest - first.earliest).days) == (year, 42 * 7)


def test_439_alone_does_not_say_when():
    with pytest.raises(ValueError, match="does not say its decade"):
        read_date_code("439")


def test_a_four_digit_code_that_ends_in_97_does_not_conform():
    with pytest.raises(ValueError, match="does not conform"):
        read_date_code("3197")
