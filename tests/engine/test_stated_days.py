import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.stated_days import StatedDay, read_day, read_manufacture

dates = st.dates(datetime.date(1885, 1, 1), datetime.date(2500, 12, 31))


def span(earliest: str, latest: str) -> StatedDay:
    return StatedDay(datetime.date.fromisoformat(earliest), datetime.date.fromisoformat(latest))


@given(dates)
def test_a_date_is_one_day(date):
    assert read_day(date.isoformat()) == StatedDay(date, date)


@given(dates)
def test_a_month_holds_each_of_its_days(date):
    stated = read_day(f"{date:%Y-%m}")
    assert stated.earliest <= date <= stated.latest


@given(dates)
def test_an_iso_week_holds_each_of_its_days(date):
    year, week, _ = date.isocalendar()
    stated = read_manufacture(f"{year:04}-W{week:02}")
    assert stated.earliest <= date <= stated.latest


def test_a_year_runs_from_new_year_to_new_years_eve():
    assert read_day("2019") == span("2019-01-01", "2019-12-31")


def test_february_of_a_leap_year_has_twenty_nine_days():
    assert read_day("2024-02") == span("2024-02-01", "2024-02-29")


def test_an_iso_week_runs_from_monday_to_sunday():
    assert read_manufacture("2004-W31") == span("2004-07-26", "2004-08-01")


def test_the_third_quarter_runs_from_july_to_september():
    # ISO 2230 labels the quarter of cure: July to September 1994 is 3/94.
    assert read_manufacture("1994-Q3") == span("1994-07-01", "1994-09-30")


@pytest.mark.parametrize(
    ("label", "first", "last"),
    [
        ("3/94", "1994-07-01", "1994-09-30"),
        ("1/70", "1970-01-01", "1970-03-31"),
        ("4/69", "2069-10-01", "2069-12-31"),
    ],
)
def test_a_cure_date_on_a_rubber_label_is_a_quarter(label, first, last):
    assert read_manufacture(label) == span(first, last)


@given(st.integers(1970, 2069), st.integers(1, 4))
def test_a_label_says_the_same_as_the_quarter_in_full(year, quarter):
    assert read_manufacture(f"{quarter}/{year % 100:02}") == read_manufacture(f"{year}-Q{quarter}")


def test_five_is_no_quarter_of_a_label():
    with pytest.raises(ValueError, match="1994-Q3"):
        read_manufacture("5/94")


@pytest.mark.parametrize(
    "text",
    ["", "19", "2019-13", "2019-00", "2019-02-29", "2019-5-1", "0000", "2019-05-01T00:00", "٢٠١٩"],
)
def test_a_day_that_is_none_is_refused_by_name(text):
    with pytest.raises(ValueError, match="^'" + text):
        read_day(text)


@pytest.mark.parametrize("text", ["2004-W54", "2005-W53", "2004-W00", "1994-Q5", "0000-W01"])
def test_a_week_or_quarter_that_its_year_lacks_is_refused_by_name(text):
    with pytest.raises(ValueError, match="^'" + text):
        read_manufacture(text)


def test_four_digits_alone_are_sent_to_the_tyre_code():
    with pytest.raises(ValueError, match="as date_code"):
        read_manufacture("3104")
