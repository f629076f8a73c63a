"""The smallest day on which something holds, for many items at once."""

from collections.abc import Callable

import numpy as np

from maintenance.engine.columns import Bools, Ints
from maintenance.engine.days import NEVER


def first_day(reached: Callable[[Ints, Ints], Bools], low: Ints, high: Ints) -> Ints:
    """Return for each row the smallest day from `low` to `high` on which `reached` holds.

    Parameters
    ----------
    reached : callable
        Takes row numbers and one day [days since 1970-01-01] for each, returns whether it holds.
        It must be monotone: once it holds it holds on every later day.
    low, high : array of int
        First and last day to look at [days since 1970-01-01].

    Returns
    -------
    array of int
        The day [days since 1970-01-01], or `NEVER` where it does not hold by `high`.

    Notes
    -----
    All brackets are halved together; a row whose bracket has closed is left alone.

    References
    ----------
    .. [1] Common practice: bisection of a monotone predicate.
    """
    rows = np.arange(low.size)
    found = np.full(low.size, NEVER)
    rows = rows[high >= low]
    rows = rows[reached(rows, high[rows])]
    left, right = low[rows].copy(), high[rows].copy()
    open_rows = np.flatnonzero(left < right)
    while open_rows.size:
        middle = (left[open_rows] + right[open_rows]) >> 1
        holds = reached(rows[open_rows], middle)
        right[open_rows[holds]] = middle[holds]
        left[open_rows[~holds]] = middle[~holds] + 1
        open_rows = open_rows[left[open_rows] < right[open_rows]]
    found[rows] = left
    return found
