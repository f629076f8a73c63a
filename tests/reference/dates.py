"""Days as ordinals of the calendar, written out and read back the plain way."""

import calendar
from datetime import date


def day(text):
    return None if text is None else date.fromisoformat(text).toordinal()


def iso(ordinal):
    return None if ordinal is None else date.fromordinal(ordinal).isoformat()


def add_months(ordinal, months):
    start = date.fromordinal(ordinal)
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(start.day, last)).toordinal()


def month_end(ordinal):
    start = date.fromordinal(ordinal)
    return start.replace(day=calendar.monthrange(start.year, start.month)[1]).toordinal()


def whole_months(first, until):
    """Whole calendar months from one day to another, counted one by one."""
    months = 0
    while add_months(first, months + 1) <= until:
        months += 1
    return months


def span(text):
    """First and last day of a stated date, month or year."""
    parts = [int(part) for part in text.split("-")]
    if len(parts) == 1:
        return date(parts[0], 1, 1).toordinal(), date(parts[0], 12, 31).toordinal()
    if len(parts) == 2:
        first = date(parts[0], parts[1], 1).toordinal()
        return first, month_end(first)
    return day(text), day(text)


def made_on(text):
    """First day of a stated day, month, ISO week or quarter of manufacture."""
    if text is None:
        return None
    year, _, rest = text.partition("-")
    if rest.startswith("W"):
        return date.fromisocalendar(int(year), int(rest[1:]), 1).toordinal()
    if rest.startswith("Q"):
        return date(int(year), 3 * int(rest[1:]) - 2, 1).toordinal()
    return span(text)[0]
