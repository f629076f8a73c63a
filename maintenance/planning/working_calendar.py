"""When people work: weekdays, hours, holidays, and the grid of working slots made of them.

Work is planned on a line of slots that holds working time only. A job that is not finished in the
evening goes on with the next working slot, and keeps its resources overnight.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from math import ceil

from maintenance.planning.errors import PlanningError

MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True, slots=True)
class Shift:
    """Hours that somebody works on one weekday, every week.

    Parameters
    ----------
    weekday : int
        0 for Monday to 6 for Sunday (ISO 8601 counts them 1 to 7).
    begin, end : datetime.time
        Local time of day.

    References
    ----------
    .. [1] ISO 8601-1:2019, 3.1.1.22 for the week's order.
    """

    weekday: int
    begin: time = time(9)
    end: time = time(17)


@dataclass(frozen=True, slots=True)
class Span:
    """Days from `first` to `last`, both included: a holiday, a closure, an event.

    Parameters
    ----------
    first, last : datetime.date
        Local calendar days.

    References
    ----------
    .. [1] Common practice.
    """

    first: date
    last: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who does the work.

    Parameters
    ----------
    name : str
        As shown on the job sheet.
    shifts : tuple of Shift
        Weekly hours.
    skills : tuple of str
        What this person may do beyond what anyone may.
    away : tuple of Span
        Days off.
    cost_per_hour : int
        [minor units per h]; 0 for those who work for nothing.

    References
    ----------
    .. [1] Common practice.
    """

    name: str
    shifts: tuple[Shift, ...]
    skills: tuple[str, ...] = ()
    away: tuple[Span, ...] = ()
    cost_per_hour: int = 0


@dataclass(frozen=True, slots=True)
class Moment:
    """A local day and time of day.

    Parameters
    ----------
    day : datetime.date
        Local calendar day.
    at : datetime.time
        Local time of day.

    References
    ----------
    .. [1] Common practice.
    """

    day: date
    at: time


@dataclass(frozen=True, slots=True)
class Grid:
    """Working slots of all the people, one after the other.

    Parameters
    ----------
    slot_minutes : int
        Length of a slot [min].
    days : tuple of datetime.date
        Days with at least one slot.
    offsets : tuple of int
        Index of the first slot of each day, and at the end the number of slots.
    clock : tuple of int
        Minute of the day at which each slot begins [min].
    present : mapping of str to tuple of bool
        For each person and slot, whether they are there.

    References
    ----------
    .. [1] Common practice.
    """

    slot_minutes: int
    days: tuple[date, ...]
    offsets: tuple[int, ...]
    clock: tuple[int, ...]
    present: Mapping[str, tuple[bool, ...]]

    @property
    def slots(self) -> int:
        """Number of slots."""
        return len(self.clock)

    def day_index(self, slot: int) -> int:
        """Index into `days` of the day to which a slot belongs."""
        return bisect_right(self.offsets, slot) - 1

    def first_slot(self, day: date) -> int:
        """First slot on or after a day; the number of slots where none is left."""
        return self.offsets[bisect_left(self.days, day)]

    def end_slot(self, day: date) -> int:
        """Number of slots up to the evening of a day."""
        return self.offsets[bisect_right(self.days, day)]

    def day_of_end(self, end: int) -> date:
        """Day on which work that ends before slot `end` is finished."""
        return self.days[self.day_index(max(end - 1, 0))]

    def slots_for(self, hours: float) -> int:
        """Slots that a job of so many hours takes [slots], rounded up, at least one."""
        minutes = round(hours * 60)
        return max(1, ceil(minutes / self.slot_minutes))

    def start_moment(self, slot: int) -> Moment:
        """Day and time at which a slot begins."""
        return Moment(self.days[self.day_index(slot)], _time(self.clock[slot]))

    def end_moment(self, end: int) -> Moment:
        """Day and time at which work that ends before slot `end` is finished."""
        last = max(end - 1, 0)
        minute = min(self.clock[last] + self.slot_minutes, MINUTES_A_DAY - 1)
        return Moment(self.days[self.day_index(last)], _time(minute))


def _time(minute: int) -> time:
    return time(minute // 60, minute % 60)


def working_grid(
    people: Sequence[Person],
    first: date,
    last: date,
    closed: Iterable[Span] = (),
    slot_minutes: int = 30,
) -> Grid:
    """Lay the people's hours out as a line of slots.

    Parameters
    ----------
    people : sequence of Person
        Who works, and when.
    first, last : datetime.date
        First and last day looked at, both included.
    closed : iterable of Span
        Days on which nobody works.
    slot_minutes : int
        Length of a slot [min], a divisor of 1440.

    Returns
    -------
    Grid
        Slots of all days in the period on which somebody works.

    Raises
    ------
    PlanningError
        Where nobody works in the whole period, two people share a name, or the slot length does
        not divide the day.

    Notes
    -----
    A shift counts the whole slots inside it. Times are local; the one hour lost or won by
    daylight saving at night is of no concern to a workshop.

    References
    ----------
    .. [1] Common practice.
    """
    _check(people, slot_minutes)
    shut = tuple(closed)
    days: list[date] = []
    offsets: list[int] = []
    clock: list[int] = []
    present: dict[str, list[bool]] = {person.name: [] for person in people}
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        hours = {} if any(day in span for span in shut) else _hours(people, day, slot_minutes)
        minutes = sorted(set().union(*hours.values()))
        if minutes:
            days.append(day)
            offsets.append(len(clock))
            clock += minutes
            for name, row in present.items():
                row += [minute in hours[name] for minute in minutes]
    if not days:
        raise PlanningError(f"nobody works between {first} and {last}; add shifts or a later end")
    rows = {name: tuple(row) for name, row in present.items()}
    return Grid(slot_minutes, tuple(days), (*offsets, len(clock)), tuple(clock), rows)


def _hours(people: Sequence[Person], day: date, slot_minutes: int) -> dict[str, set[int]]:
    hours: dict[str, set[int]] = {person.name: set() for person in people}
    for person in people:
        if any(day in span for span in person.away):
            continue
        for shift in person.shifts:
            if shift.weekday == day.weekday():
                hours[person.name] |= _slots_of(shift, slot_minutes)
    return hours


def _slots_of(shift: Shift, slot_minutes: int) -> set[int]:
    begin = shift.begin.hour * 60 + shift.begin.minute
    end = shift.end.hour * 60 + shift.end.minute
    first = -(-begin // slot_minutes) * slot_minutes
    return {m for m in range(first, end, slot_minutes) if m + slot_minutes <= end}


def _check(people: Sequence[Person], slot_minutes: int) -> None:
    if slot_minutes < 1 or MINUTES_A_DAY % slot_minutes:
        raise PlanningError(f"slot_minutes {slot_minutes} does not divide a day; take 15, 30 or 60")
    names = [person.name for person in people]
    if len(set(names)) < len(names):
        raise PlanningError("two people share a name; tell them apart in `people`")
    for person in people:
        for shift in person.shifts:
            if not 0 <= shift.weekday <= 6 or shift.end <= shift.begin:
                raise PlanningError(
                    f"{person.name}: shift {shift.weekday} {shift.begin}-{shift.end} is no shift; "
                    "weekday is 0 (Monday) to 6 and the end comes after the beginning"
                )
