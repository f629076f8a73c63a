"""Rows of one table that belong to rows of another, without a loop over cars."""

import numpy as np

from maintenance.engine.columns import Ints


def expand(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Return (owner, member) for runs of members that start at `first` and are `count` long.

    Parameters
    ----------
    first : array of int
        Row of the first member of each owner.
    count : array of int
        How many members each owner has, 0 and up.

    Returns
    -------
    tuple of arrays of int
        Owner's place and member's row, one pair for each member.

    References
    ----------
    .. [1] Common practice: run-length expansion.
    """
    owner = np.repeat(np.arange(first.size), count)
    before = np.cumsum(count) - count
    member = np.arange(owner.size) - before[owner] + first[owner]
    return owner, member


def runs(sorted_keys: Ints, wanted: Ints) -> tuple[Ints, Ints]:
    """Return (first, count) of the run of each wanted key in an ascending column.

    Parameters
    ----------
    sorted_keys : array of int
        Ascending.
    wanted : array of int
        Keys to look for.

    Returns
    -------
    tuple of arrays of int
        First row and length of each run; the length is 0 where the key does not occur.

    References
    ----------
    .. [1] Common practice: binary search.
    """
    first = np.searchsorted(sorted_keys, wanted, side="left")
    return first, np.searchsorted(sorted_keys, wanted, side="right") - first
