"""The time criterion: a limit in calendar months, run down faster in storage."""

from dataclasses import dataclass

import numpy as np

from maintenance.engine.clock import (
    Clock,
    aged_hundredths,
    day_aged,
    in_storage_only,
    limit_days,
    shelf_start,
)
from maintenance.engine.columns import Bools, Ints
from maintenance.engine.context import Context
from maintenance.engine.days import NEVER, NO_DAY, add_months
from maintenance.engine.resets import resetting_entries
from maintenance.engine.units import HUNDREDTHS


@dataclass(frozen=True)
class ByTime:
    """The time criterion of each item.

    `entry` is the resetting entry, -1 where there is none. `limit` is in days, `calendar` the day
    the months run to if no day counts more than one, `aged` the aged days on the day asked about
    in hundredths, `day` the due day (NEVER where there is none) and `ends` the end of the standing
    period for storage care.
    """

    entry: Ints
    clock: Clock
    asked: Bools
    limit: Ints
    calendar: Ints
    aged: Ints
    day: Ints
    ends: Ints


def by_time(shared: Context) -> ByTime:
    """Return when the months of each item's rule run out.

    Parameters
    ----------
    shared : Context
        The batch as known on the day asked about.

    Returns
    -------
    ByTime
        One row an item. Storage care falls due only within the standing period it belongs to.

    References
    ----------
    .. [1] Common practice: whichever comes first, time or distance.
    """
    batch, rule = shared.batch, shared.batch.items.rule
    rules = batch.rules
    vehicle = batch.components.vehicle[batch.items.component]
    entry = resetting_entries(shared.done, batch.items.component, rules.task[rule])
    runs_from = shelf_start(batch.entries, entry, rules.counts_shelf_age[rule])
    start = np.full(entry.size, NO_DAY)
    start[entry >= 0] = batch.entries.day[entry[entry >= 0]]
    storage_care = rules.laid_up_only[rule]
    began, ends = in_storage_only(shared.stands, vehicle, start)
    start = np.where(storage_care, began, start)
    runs_from = np.where(storage_care, began, runs_from)
    clock = Clock(vehicle, start, runs_from, rules.factors[rule])
    asked = (rules.months[rule] >= 0) & (start != NO_DAY)
    limit = np.full(entry.size, -1, dtype=np.int64)
    aged = np.zeros(entry.size, dtype=np.int64)
    day = np.full(entry.size, NEVER)
    rows = np.flatnonzero(asked)
    limit[rows] = limit_days(runs_from[rows], rules.months[rule[rows]])
    day[rows] = day_aged(clock.of(rows), shared.stands, HUNDREDTHS * limit[rows], shared.horizon)
    known = np.flatnonzero(start != NO_DAY)
    aged[known] = aged_hundredths(clock.of(known), shared.stands, np.full(known.size, shared.on))
    day = np.where(storage_care & (day > ends), NEVER, day)
    calendar = np.where(asked, add_months(runs_from, np.maximum(rules.months[rule], 0)), NEVER)
    return ByTime(
        entry, clock, asked, limit, calendar, aged, day, np.where(storage_care, ends, NEVER)
    )
