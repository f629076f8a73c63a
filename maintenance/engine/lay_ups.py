"""When a car stands: its lay-ups as a timeline, and days counted inside and outside it."""

from dataclasses import dataclass

import numpy as np

from maintenance.engine.columns import Ints, LayUps
from maintenance.engine.days import NEVER, NO_DAY

Day = Ints | np.int64 | int


@dataclass(frozen=True)
class Standing:
    """Lay-ups of each car side by side, in order of days; shape (cars, lay-ups), padded by NEVER.

    `start` and `end` bound each lay-up; `grade` is its storage grade. `period_start` and
    `period_end` bound the standing period it belongs to (touching lay-ups are one). An end that
    is not known is NEVER; `recorded_end` is the period's end without what is only expected. `now`
    is the column of the lay-up that the car is in on the day the timeline is for, -1 if none.
    """

    start: Ints
    end: Ints
    grade: Ints
    period_start: Ints
    period_end: Ints
    recorded_end: Ints
    now: Ints


def standing(lay_ups: LayUps, cars: int, on: int) -> Standing:
    """Return the timeline of lay-ups as known on a day.

    Parameters
    ----------
    lay_ups : LayUps
        In any order; those of one car must not overlap.
    cars : int
        Number of cars in the batch.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    Standing
        A lay-up without an end goes on until its expected end if that is after `on`, else for ever.

    References
    ----------
    .. [1] Common practice: an expected end that has passed says nothing about the day of return.
    """
    order = np.lexsort((lay_ups.start, lay_ups.vehicle))
    vehicle = lay_ups.vehicle[order]
    first = np.searchsorted(vehicle, np.arange(cars))
    place = np.arange(vehicle.size) - first[vehicle]
    shape = (cars, int(place.max()) + 1 if place.size else 0)
    expected = lay_ups.expected[order]
    recorded = np.where(lay_ups.end[order] == NO_DAY, NEVER, lay_ups.end[order])
    known = np.where(
        (recorded == NEVER) & (expected > np.maximum(on, lay_ups.start[order])), expected, recorded
    )

    def side_by_side(column: Ints, padding: int | np.int64) -> Ints:
        table = np.full(shape, padding, dtype=np.int64)
        table[vehicle, place] = column
        return table

    start_2d = side_by_side(lay_ups.start[order], NEVER)
    end_2d = side_by_side(known, NEVER)
    grade_2d = side_by_side(lay_ups.grade[order], 0)
    period_start, period_end = _periods(start_2d, end_2d)
    _, recorded_end = _periods(start_2d, side_by_side(recorded, NEVER))
    inside = (start_2d <= on) & (on < end_2d)
    now = np.where(inside.any(axis=1), inside.argmax(axis=1), -1) if shape[1] else _none(cars)
    return Standing(start_2d, end_2d, grade_2d, period_start, period_end, recorded_end, now)


def _none(cars: int) -> Ints:
    return np.full(cars, -1, dtype=np.int64)


def _periods(start: Ints, end: Ints) -> tuple[Ints, Ints]:
    period_start, period_end = start.copy(), end.copy()
    columns = start.shape[1]
    for k in range(1, columns):
        touches = (start[:, k] == end[:, k - 1]) & (start[:, k] != NEVER)
        period_start[touches, k] = period_start[touches, k - 1]
    for k in range(columns - 2, -1, -1):
        touches = (start[:, k + 1] == end[:, k]) & (start[:, k + 1] != NEVER)
        period_end[touches, k] = period_end[touches, k + 1]
    return period_start, period_end


def overlap(low: Day, high: Day, start: Day, end: Day) -> Ints:
    """Return how many days of `[low, high)` fall in `[start, end)`.

    Parameters
    ----------
    low, high, start, end : arrays of int
        Bounds [days since 1970-01-01]; they broadcast against each other.

    Returns
    -------
    array of int
        Days in both [days], 0 where there are none.

    References
    ----------
    .. [1] Common practice: half-open intervals.
    """
    days: Ints = np.maximum(np.minimum(high, end) - np.maximum(low, start), 0)
    return days


def laid_up_days(stands: Standing, vehicle: Ints, low: Ints, high: Ints) -> Ints:
    """Return the days laid up from `low` up to `high` for each row.

    Parameters
    ----------
    stands : Standing
        Timelines of the batch.
    vehicle : array of int
        Car of each row.
    low, high : array of int
        Bounds, half-open [days since 1970-01-01].

    Returns
    -------
    array of int
        Days laid up [days].

    References
    ----------
    .. [1] Common practice: half-open intervals.
    """
    if not stands.start.shape[1]:
        return np.zeros(vehicle.size, dtype=np.int64)
    # All lay-ups of a row at once: a loop over them costs more than the days it counts.
    days = overlap(low[:, None], high[:, None], stands.start[vehicle], stands.end[vehicle])
    total: Ints = days.sum(axis=1)
    return total


def days_in_use(stands: Standing, vehicle: Ints, low: Ints, high: Ints) -> Ints:
    """Return the days in use from `low` up to `high` for each row.

    Parameters
    ----------
    stands : Standing
        Timelines of the batch.
    vehicle : array of int
        Car of each row.
    low, high : array of int
        Bounds, half-open [days since 1970-01-01], `high` not before `low`.

    Returns
    -------
    array of int
        Days not laid up [days].

    References
    ----------
    .. [1] Common practice: half-open intervals.
    """
    in_use: Ints = np.maximum(high - low, 0) - laid_up_days(stands, vehicle, low, high)
    return in_use
