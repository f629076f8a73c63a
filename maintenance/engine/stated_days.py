"""Days as people know them: a date, or only the month, week, quarter or year."""

import calendar
import datetime
import re
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class StatedDay:
    """The days that a statement leaves possible.

    Parameters
    ----------
    earliest, latest : datetime.date
        First and last possible day; equal where the day is known.

    Notes
    -----
    The clock of an interval counts from `earliest`, so that not knowing the day never makes a
    limit later.

    References
    ----------
    .. [1] ISO 8601-1:2019, sections 5.2.2 and 5.2.3, for reduced precision and for weeks.
    """

    earliest: datetime.date
    latest: datetime.date


_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_MONTH = re.compile(r"(\d{4})-(\d{2})", re.ASCII)
_YEAR = re.compile(r"(\d{4})", re.ASCII)
_WEEK = re.compile(r"(\d{4})-W(\d{2})", re.ASCII)
_MANUFACTURE_WANTED = (
    "write a date such as 2004-07-28, a month such as 2004-07, an ISO week such as 2004-W31, a "
    "quarter such as 1994-Q3 or as a rubber part's label has it, 3/94, and give the four digits on "
    "a tyre as date_code"
)
_QUARTER = re.compile(r"(\d{4})-Q([1-4])", re.ASCII)
_LABEL = re.compile(r"([1-4])/(\d{2})", re.ASCII)
_FIRST_OF_TWO_DIGITS = 70


def read_day(text: str) -> StatedDay:
    """Read the day of an event: a date, a month or a year.

    Parameters
    ----------
    text : str
        `2019-05-01`, `2019-05` or `2019`.

    Returns
    -------
    StatedDay
        First and last day of what is stated.

    Raises
    ------
    ValueError
        Where the text is none of these or names a day that the calendar does not have.

    Notes
    -----
    Valid for the years 1 to 9999.

    References
    ----------
    .. [1] ISO 8601-1:2019, section 5.2.2.
    """
    if match := _DATE.fullmatch(text):
        return _one_day(text, *map(int, match.groups()))
    if match := _MONTH.fullmatch(text):
        return _months(text, *map(int, match.groups()), count=1)
    if match := _YEAR.fullmatch(text):
        return _months(text, int(match[1]), 1, count=12)
    raise ValueError(
        f"{text!r} is no day; write a date such as 2019-05-01, or 2019-05 or 2019 "
        "where only the month or the year is known"
    )


def read_manufacture(text: str) -> StatedDay:
    """Read when a part was made: a date, a month, an ISO week or a quarter.

    Parameters
    ----------
    text : str
        `2004-07-28`, `2004-07`, `2004-W31`, `1994-Q3`, or a cure date as the label of a rubber
        part has it, `3/94`.

    Returns
    -------
    StatedDay
        First and last day of what is stated.

    Raises
    ------
    ValueError
        Where the text is none of these or names a day or week that the calendar does not have.
        Four digits alone are refused too: they may be a year or a tyre's week and year.

    Notes
    -----
    Valid for the years 1 to 9999. Weeks are those of ISO 8601, Monday to Sunday; the date code
    on a tyre counts other weeks and is read by `tyre_codes`. The two digits of a label's year are
    those of 1970 to 2069; write an older quarter out, as `1965-Q3`.

    References
    ----------
    .. [1] ISO 8601-1:2019, section 5.2.3, for weeks.
    .. [2] ISO 2230:2002, for rubber parts labelled with the quarter of their cure.
    """
    if match := _DATE.fullmatch(text):
        return _one_day(text, *map(int, match.groups()))
    if match := _MONTH.fullmatch(text):
        return _months(text, *map(int, match.groups()), count=1)
    if match := _WEEK.fullmatch(text):
        return _iso_week(text, *map(int, match.groups()))
    if match := _QUARTER.fullmatch(text):
        return _months(text, int(match[1]), 3 * int(match[2]) - 2, count=3)
    if match := _LABEL.fullmatch(text):
        return _months(text, _in_full(int(match[2])), 3 * int(match[1]) - 2, count=3)
    raise ValueError(f"{text!r} does not say when the part was made; {_MANUFACTURE_WANTED}")


def _in_full(year: int) -> int:
    """Return the year that a label means by its last two digits: 1970 to 2069."""
    return 1900 + year if year >= _FIRST_OF_TWO_DIGITS else 2000 + year


def _one_day(text: str, year: int, month: int, day: int) -> StatedDay:
    try:
        date = datetime.date(year, month, day)
    except ValueError:
        raise ValueError(
            f"{text!r} is no day of the calendar; check month and day (year-month-day)"
        ) from None
    return StatedDay(date, date)


def _months(text: str, year: int, month: int, *, count: int) -> StatedDay:
    if year < 1 or not 1 <= month <= 12:
        raise ValueError(f"{text!r} is no month of the calendar; months run from 01 to 12")
    last_month = month + count - 1
    last_day = calendar.monthrange(year, last_month)[1]
    return StatedDay(datetime.date(year, month, 1), datetime.date(year, last_month, last_day))


def _iso_week(text: str, year: int, week: int) -> StatedDay:
    try:
        return StatedDay(
            datetime.date.fromisocalendar(year, week, 1),
            datetime.date.fromisocalendar(year, week, 7),
        )
    except (ValueError, OverflowError):
        raise ValueError(
            f"{text!r} is no week of that year; ISO weeks run from 01 to 52, in some years 53"
        ) from None
