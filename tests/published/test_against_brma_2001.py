"""Tyre ages against the British Rubber Manufacturers' Association, June 2001 (cited)."""

import datetime

from maintenance.engine.ageing.tyres import age_limits
from maintenance.engine.days import from_day, to_day

MADE = to_day(datetime.date(2000, 8, 27))  # week 35 of 2000


def test_no_unused_tyre_goes_into_service_after_six_years():
    assert from_day(int(age_limits(MADE).fit_before)) == datetime.date(2006, 8, 27)


def test_every_tyre_is_replaced_at_ten_years():
    assert from_day(int(age_limits(MADE).replace_on)) == datetime.date(2010, 8, 27)


def test_a_tyre_of_a_leap_day_is_replaced_at_the_end_of_february():
    leap = to_day(datetime.date(2004, 2, 29))

    assert from_day(int(age_limits(leap).replace_on)) == datetime.date(2014, 2, 28)
