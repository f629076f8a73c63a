"""The clock of a component: where it starts, how fast it runs in storage, when it runs out."""

from dataclasses import dataclass

import numpy as np

from maintenance.engine.columns import Bools, Entries, Ints
from maintenance.engine.days import NEVER, NO_DAY, add_months
from maintenance.engine.lay_ups import Standing, overlap
from maintenance.engine.search import first_day
from maintenance.engine.units import HUNDREDTHS


@dataclass(frozen=True)
class Clock:
    """Where each item's clock starts and what drives it.

    `start` is the day of the resetting entry, `runs_from` the day the clock counts from (earlier
    where shelf age counts), both NO_DAY where nothing is on record. `vehicle` and `factors`
    (hundredths by storage grade) say how standing is counted from `start` on.
    """

    vehicle: Ints
    start: Ints
    runs_from: Ints
    factors: Ints

    def of(self, rows: Ints) -> "Clock":
        """Return the clocks of some rows."""
        return Clock(self.vehicle[rows], self.start[rows], self.runs_from[rows], self.factors[rows])


def shelf_start(entries: Entries, entry: Ints, counts_shelf_age: Bools) -> Ints:
    """Return the day of manufacture where it starts the clock, else the entry's own day.

    Parameters
    ----------
    entries : Entries
        What was done.
    entry : array of int
        Resetting entry of each item, -1 where there is none.
    counts_shelf_age : array of bool
        Whether the rule counts the years on the shelf.

    Returns
    -------
    array of int
        Days since 1970-01-01 [days], NO_DAY where there is no entry.

    References
    ----------
    .. [1] ISO 2230:2002: a rubber part ages from its cure date, fitted or not.
    """
    known = entry >= 0
    start = np.full(entry.size, NO_DAY)
    start[known] = entries.day[entry[known]]
    made = np.full(entry.size, NO_DAY)
    made[known] = entries.manufactured[entry[known]]
    return np.where(counts_shelf_age & (made != NO_DAY) & (made < start), made, start)


def aged_hundredths(clock: Clock, stands: Standing, day: Ints) -> Ints:
    """Return the days by which each item has aged up to a day, in hundredths.

    Parameters
    ----------
    clock : Clock
        Items, one row each.
    stands : Standing
        Timelines of the cars.
    day : array of int
        Day up to which ageing counts, not before `clock.runs_from` [days since 1970-01-01].

    Returns
    -------
    array of int
        Aged days in hundredths [0.01 days]: every day counts 100, a laid-up day from the
        fitting on counts the rule's factor for that storage grade.

    Notes
    -----
    Factors are at least 1, so a day never counts less than a day.

    References
    ----------
    .. [1] Common practice: a limit in months holds for a car in use; storage does not lengthen it.
    """
    aged: Ints = HUNDREDTHS * (day - clock.runs_from)
    if not stands.start.shape[1]:
        return aged
    rows, vehicle = np.arange(day.size)[:, None], clock.vehicle
    days = overlap(clock.start[:, None], day[:, None], stands.start[vehicle], stands.end[vehicle])
    excess = clock.factors[rows, stands.grade[vehicle]] - HUNDREDTHS
    aged += (days * excess).sum(axis=1)
    return aged


def day_aged(clock: Clock, stands: Standing, limit_hundredths: Ints, horizon: int) -> Ints:
    """Return the smallest day on which each item has aged by its limit.

    Parameters
    ----------
    clock : Clock
        Items, one row each.
    stands : Standing
        Timelines of the cars.
    limit_hundredths : array of int
        Aged days to reach [0.01 days].
    horizon : int
        Last day looked at [days since 1970-01-01].

    Returns
    -------
    array of int
        Days since 1970-01-01 [days], NEVER beyond the horizon.

    References
    ----------
    .. [1] Common practice: due on the first day on which the limit is reached.
    """

    def reached(rows: Ints, day: Ints) -> Bools:
        return aged_hundredths(clock.of(rows), stands, day) >= limit_hundredths[rows]

    return first_day(reached, clock.runs_from, np.full(limit_hundredths.size, horizon))


def limit_days(runs_from: Ints, months: Ints) -> Ints:
    """Return the length of a limit in calendar months, in days.

    Parameters
    ----------
    runs_from : array of int
        Day the clock counts from [days since 1970-01-01].
    months : array of int
        Calendar months [months].

    Returns
    -------
    array of int
        Days [days], the calendar day clipped to the month's end.

    References
    ----------
    .. [1] ISO 8601-1:2019: calendar months differ in length.
    """
    return add_months(runs_from, months) - runs_from


def in_storage_only(stands: Standing, vehicle: Ints, start: Ints) -> tuple[Ints, Ints]:
    """Return (start, end) of a clock that runs only in the present standing period.

    Parameters
    ----------
    stands : Standing
        Timelines of the cars.
    vehicle : array of int
        Car of each item.
    start : array of int
        Day of the latest resetting entry, NO_DAY where there is none [days since 1970-01-01].

    Returns
    -------
    tuple of arrays of int
        The later of the standing period's start and `start`, and the period's end; NO_DAY and
        NEVER where the car is in use.

    References
    ----------
    .. [1] Common practice: storage care is asked for while a car stands, and only then.
    """
    if not stands.start.shape[1]:
        return np.full(vehicle.size, NO_DAY), np.full(vehicle.size, NEVER)
    now = stands.now[vehicle]
    laid_up = now >= 0
    column = np.maximum(now, 0)
    began = np.maximum(stands.period_start[vehicle, column], start)
    ends = stands.period_end[vehicle, column]
    return np.where(laid_up, began, NO_DAY), np.where(laid_up, ends, NEVER)
