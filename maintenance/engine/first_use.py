"""First use after standing: what must be looked at or renewed before the wheels turn again."""

from dataclasses import dataclass

import numpy as np

from maintenance.engine.columns import Bools, Ints
from maintenance.engine.days import NEVER, NO_DAY, add_months
from maintenance.engine.lay_ups import Standing


@dataclass(frozen=True)
class FirstUse:
    """When each item falls due by its first use after standing.

    `day` is the day of return, NEVER where the criterion does not apply or the day of return is
    not known; `applies` tells the two apart. `from_day` is the first day on which the present
    standing has been long enough, NEVER if it will not be. `counted_from` is the day from which
    the standing time that made the item due is counted, NO_DAY where none did.
    """

    day: Ints
    applies: Bools
    from_day: Ints
    counted_from: Ints


def first_use(stands: Standing, vehicle: Ints, start: Ints, months: Ints, on: int) -> FirstUse:
    """Return the first-use criterion of each item.

    Parameters
    ----------
    stands : Standing
        Timelines of the cars as known on `on`.
    vehicle : array of int
        Car of each item.
    start : array of int
        Day of the latest resetting entry, NO_DAY where there is none [days since 1970-01-01].
    months : array of int
        Standing time from which the item is due before use [calendar months], -1 for no such rule.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    FirstUse
        By the earliest lay-up since `start` that stood long enough. While a lay-up lasts its end
        is the expected one, or `on` where that is not known.

    References
    ----------
    .. [1] Common practice: parts that seize, part or perish unseen are looked at before use.
    """
    size = vehicle.size
    day = np.full(size, NEVER)
    applies = np.zeros(size, dtype=bool)
    from_day = np.full(size, NEVER)
    counted_from = np.full(size, NO_DAY)
    asked = (months >= 0) & (start != NO_DAY)
    for k in range(stands.start.shape[1]):
        began = stands.period_start[vehicle, k]
        ends = stands.period_end[vehicle, k]
        counted = np.maximum(began, start)
        enough = np.where(asked, add_months(counted, np.maximum(months, 0)), NEVER)
        stood = asked & (began <= on) & (ends > start)
        unknown_end = ends == NEVER
        due = stood & (enough <= np.where(unknown_end, on, ends)) & ~applies
        day = np.where(due & ~unknown_end, ends, day)
        counted_from = np.where(due, counted, counted_from)
        applies |= due
        lasts = stood & (ends > on)
        from_day = np.where(
            lasts, np.where(unknown_end, enough, np.where(enough <= ends, began, NEVER)), from_day
        )
    return FirstUse(day, applies, from_day, counted_from)
