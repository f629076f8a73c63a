"""Calendar months against `dateutil.relativedelta` (PyPI, python-dateutil)."""

import datetime

from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.days import add_months, from_day, to_day


@given(st.dates(datetime.date(1885, 1, 1), datetime.date(2400, 12, 31)), st.integers(-600, 1200))
def test_months_are_counted_as_relativedelta_counts_them(date, months):
    assert from_day(int(add_months(to_day(date), months))) == date + relativedelta(months=months)


def test_every_day_of_four_years_agrees_over_two_years_of_months():
    first = datetime.date(2023, 1, 1)
    pairs = [
        (first + datetime.timedelta(days=days), months)
        for days in range(1461)
        for months in range(25)
    ]
    ours = add_months([to_day(date) for date, _ in pairs], [months for _, months in pairs])
    theirs = [to_day(date + relativedelta(months=months)) for date, months in pairs]
    assert ours.tolist() == theirs
