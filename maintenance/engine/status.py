"""The status of a due item, as days from which it changes, so that it can be told on any day."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.engine.columns import CRITERIA, STATUSES, Bools, Ints
from maintenance.engine.days import NEVER, NO_DAY

_STATUS: Final = {name: number for number, name in enumerate(STATUSES)}


@dataclass(frozen=True)
class Standings:
    """Days and marks from which each item's status on a day follows.

    An item is overdue from `overdue_from`, falling due from `falling_due_from`. While its car is
    laid up, from `laid_up_from` until `laid_up_until` (expected to end on `expected_to`), it is for
    before use if `due` comes no later than the end of the lay-up, or from `before_use_from` on in
    any case. All are days since 1970-01-01, NEVER where they do not come; `storage_care` items are
    done during the lay-up.
    """

    due: Ints
    no_record: Bools
    unmeasured: Bools
    storage_care: Bools
    overdue_from: Ints
    falling_due_from: Ints
    before_use_from: Ints
    laid_up_from: Ints
    laid_up_until: Ints
    expected_to: Ints


def status_on(standings: Standings, on: int) -> Ints:
    """Return the status of each item on a day, as a place in `STATUSES`.

    Parameters
    ----------
    standings : Standings
        What the status follows from.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    array of int
        Place of the first status that fits in `STATUSES`.

    Notes
    -----
    `in_date` means not yet due by any rule on record; it says nothing of the car's condition.

    References
    ----------
    .. [1] Common practice: what falls due on a standing car is done before it is used again.
    """
    laid_up = (standings.laid_up_from <= on) & (on < standings.laid_up_until)
    expected = np.where(standings.expected_to == NEVER, on, standings.expected_to)
    ends = np.where(standings.laid_up_until == NEVER, expected, standings.laid_up_until)
    before_use = laid_up & ~standings.storage_care
    before_use &= (standings.before_use_from <= on) | (standings.due <= np.maximum(ends, on))
    conditions = [
        standings.no_record,
        before_use,
        standings.overdue_from <= on,
        standings.falling_due_from <= on,
        standings.unmeasured,
    ]
    return np.select(conditions, list(range(len(conditions))), _STATUS["in_date"])


def governing(days: Ints, has_criterion: Bools, no_record: Bools) -> Ints:
    """Return the criterion that governs each item, as a place in `CRITERIA`.

    Parameters
    ----------
    days : array of int
        Shape (items, dated criteria): due day of each, NEVER where there is none.
    has_criterion : array of bool
        Same shape: whether the item has the criterion at all.
    no_record : array of bool
        Items without a known start.

    Returns
    -------
    array of int
        The earliest, in the order of `CRITERIA` where days tie; without any date the first the
        item has.

    References
    ----------
    .. [1] Common practice: whichever comes first.
    """
    dated = (days != NEVER).any(axis=1)
    first = np.where(dated, days.argmin(axis=1), has_criterion.argmax(axis=1))
    return np.where(no_record, CRITERIA.index("no_record"), first)


def order_days(due: Ints, no_record: Bools) -> Ints:
    """Return the day that puts each item in its place in the due list.

    Parameters
    ----------
    due : array of int
        Due day [days since 1970-01-01], NEVER where there is none.
    no_record : array of bool
        Items without a known start, which count as due now.

    Returns
    -------
    array of int
        NO_DAY for an item without record, otherwise `due`.

    References
    ----------
    .. [1] Common practice: what has no record is looked at first.
    """
    return np.where(no_record, NO_DAY, due)
