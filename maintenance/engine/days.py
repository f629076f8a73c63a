"""Calendar days as whole numbers, and calendar months added to them."""

import datetime
from typing import Final

import numpy as np
import numpy.typing as npt

DayArray = npt.NDArray[np.int64]

#: Stands in a column of days for "no such day": before every day of the calendar.
NO_DAY: Final = np.int64(-(2**40))
#: Stands in a column of days for "never": after every day of the calendar.
NEVER: Final = np.int64(2**40)

_EPOCH: Final = datetime.date(1970, 1, 1).toordinal()


def to_day(date: datetime.date) -> int:
    """Return a calendar date as days since 1970-01-01.

    Parameters
    ----------
    date : datetime.date
        Local calendar date.

    Returns
    -------
    int
        Days since 1970-01-01 [days]; negative before it.

    References
    ----------
    .. [1] Common practice: the proleptic Gregorian calendar of ISO 8601.
    """
    return date.toordinal() - _EPOCH


def from_day(day: int) -> datetime.date:
    """Return the calendar date of a number of days since 1970-01-01.

    Parameters
    ----------
    day : int
        Days since 1970-01-01 [days].

    Returns
    -------
    datetime.date
        Local calendar date.

    Raises
    ------
    ValueError, OverflowError
        For a day outside the years 1 to 9999, `NO_DAY` and `NEVER` among them.

    References
    ----------
    .. [1] Common practice: the proleptic Gregorian calendar of ISO 8601.
    """
    return datetime.date.fromordinal(int(day) + _EPOCH)


def add_months(days: npt.ArrayLike, months: npt.ArrayLike) -> DayArray:
    """Add calendar months to days; a day the month reached does not have becomes its last.

    Parameters
    ----------
    days : array_like of int64
        Days since 1970-01-01 [days].
    months : array_like of int64
        Calendar months to add [months]; negative ones go back.

    Returns
    -------
    ndarray of int64
        Days since 1970-01-01 [days].

    Notes
    -----
    Valid for days of the years 1 to 9999. `NO_DAY` and `NEVER` stay what they are. Months are
    always counted from the first day given: 31 January and two months is 31 March, although 31
    January and one month is the last of February.

    References
    ----------
    .. [1] Common practice: a period of months ends on the day of the same number, or on the last
       day of a month that has none, as `dateutil.relativedelta` counts.
    """
    days, months = np.broadcast_arrays(
        np.asarray(days, dtype=np.int64), np.asarray(months, dtype=np.int64)
    )
    known = (days != NO_DAY) & (days != NEVER)
    calendar = np.where(known, days, 0).astype("datetime64[D]")
    month = calendar.astype("datetime64[M]")
    day_of_month = (calendar - month.astype("datetime64[D]")).astype(np.int64)
    reached = month.astype(np.int64) + months
    first = reached.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    last = (reached + 1).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64) - 1
    return np.where(known, np.minimum(first + day_of_month, last), days)
