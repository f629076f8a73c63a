"""When a tyre was made, from the date code that ends its identification number."""

import datetime
import re
from typing import Final

from maintenance.engine.stated_days import StatedDay

_FOUR_DIGITS = re.compile(r"(\d{2})(\d{2})", re.ASCII)
_THREE_DIGITS = re.compile(r"(\d{2})(\d)", re.ASCII)
#: Decades in which tyres carried three digits: from the first codes of 1971 to the end of 1999.
_THREE_DIGIT_DECADES: Final = (1970, 1980, 1990)
_FOUR_DIGITS_UNTIL: Final = 2089
_SUNDAY: Final = 6
_WANTED: Final = (
    "give the last four digits of the tyre's identification number, or the last three of a tyre "
    "made before 2000"
)


def read_date_code(code: str, *, decade: int | None = None) -> StatedDay:
    """Read a tyre's date code: week and year in four digits, or in three with the decade known.

    Parameters
    ----------
    code : str
        The last four digits (`3104`) or, on a tyre made before 2000, the last three (`439`).
    decade : int, optional
        First year of the decade of a three-digit code, such as 1990; it is not on the tyre.

    Returns
    -------
    StatedDay
        Sunday and Saturday of the week of manufacture.

    Raises
    ------
    ValueError
        Where the code is no week of its year, or is three digits without a decade; the text
        names the days it may mean.

    Notes
    -----
    Valid for four digits from 2000 to 2089 and for three digits from 1971 to 1999. Week 01 is
    the first full week from Sunday to Saturday of the year, so these are not ISO weeks. A
    four-digit code that ends in 90 to 99 is refused: the tyres of those years carried three
    digits, and a code like it does not conform.

    References
    ----------
    .. [1] 49 CFR 574.5, date code (week rule from memory).
    .. [2] 64 FR 36807, 8 July 1999: four digits from 2000 on.
    """
    if match := _FOUR_DIGITS.fullmatch(code):
        return _four_digit_week(code, week=int(match[1]), year=2000 + int(match[2]))
    if match := _THREE_DIGITS.fullmatch(code):
        return _three_digit_week(code, int(match[1]), int(match[2]), decade)
    raise ValueError(f"{code!r} is no date code; {_WANTED}")


def _four_digit_week(code: str, *, week: int, year: int) -> StatedDay:
    if year > _FOUR_DIGITS_UNTIL:
        raise ValueError(
            f"{code!r} does not conform: tyres made in {year - 100} carried three digits; "
            "read the code again, or say when the tyre was made with manufactured"
        )
    found = _week(week, year)
    if found is None:
        raise ValueError(_no_such_week(code, week, year))
    return found


def _three_digit_week(code: str, week: int, digit: int, decade: int | None) -> StatedDay:
    if decade is None:
        weeks = [_week(week, start + digit) for start in _THREE_DIGIT_DECADES]
        meant = " or ".join(f"{known.earliest} ({known.earliest.year})" for known in weeks if known)
        if not meant:
            raise ValueError(f"{code!r} is no date code: no year has a week {week:02}")
        raise ValueError(
            f"{code!r} does not say its decade; give manufactured as well, for example {meant}"
        )
    if decade not in _THREE_DIGIT_DECADES:
        raise ValueError(
            f"{code!r} has three digits, and tyres of the {decade}s carried none or four"
        )
    found = _week(week, decade + digit)
    if found is None:
        raise ValueError(_no_such_week(code, week, decade + digit))
    return found


def _week(week: int, year: int) -> StatedDay | None:
    """Return a week of a year in which Sundays begin the weeks, if the week begins in that year."""
    first = datetime.date(year, 1, 1)
    sunday = first + datetime.timedelta(days=(_SUNDAY - first.weekday()) % 7 + 7 * (week - 1))
    if week < 1 or sunday.year != year:
        return None
    return StatedDay(sunday, sunday + datetime.timedelta(days=6))


def _no_such_week(code: str, week: int, year: int) -> str:
    return (
        f"{code!r} is no date code: {year} has no week {week:02} that begins on a Sunday; "
        "read the code again"
    )
