import datetime

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.days import NEVER, NO_DAY, add_months, from_day, to_day

dates = st.dates(datetime.date(1885, 1, 1), datetime.date(2500, 12, 31))
months = st.integers(-600, 1200)


def test_the_first_of_january_1970_is_day_nought():
    assert to_day(datetime.date(1970, 1, 1)) == 0


@given(dates)
def test_a_day_comes_back_as_the_date_it_was(date):
    assert from_day(to_day(date)) == date


@given(dates)
def test_the_next_date_is_one_day_more(date):
    assert to_day(date + datetime.timedelta(days=1)) == to_day(date) + 1


def test_a_month_from_the_last_of_january_ends_in_february():
    day = add_months(to_day(datetime.date(2024, 1, 31)), 1)
    assert from_day(int(day)) == datetime.date(2024, 2, 29)


@given(dates, months)
def test_months_added_never_leave_the_month_they_lead_to(date, count):
    reached = from_day(int(add_months(to_day(date), count)))
    assert (reached.year - date.year) * 12 + reached.month - date.month == count


@given(st.lists(st.tuples(dates, months), min_size=1, max_size=30))
def test_a_column_of_days_gives_what_each_day_gives_alone(rows):
    days = np.array([to_day(date) for date, _ in rows])
    counts = np.array([count for _, count in rows])
    alone = [int(add_months(to_day(date), count)) for date, count in rows]
    assert add_months(days, counts).tolist() == alone


@given(months)
def test_no_day_and_never_stay_what_they_are(count):
    assert add_months([NO_DAY, NEVER], count).tolist() == [NO_DAY, NEVER]
