"""What to look for before a part that has stood is used again: the shape several parts share."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.estimate import BoolArray, as_floats


@dataclass(frozen=True)
class FirstUseInspection:
    """The inspection of one part before its first use after standing.

    Attributes
    ----------
    part : str
        The part in plain words.
    after_months : int
        Standing time from which it is called for in a dry store [months].
    look_for : tuple of str
        What to look for and do, in order.
    caution : str
        What can hurt the person who looks.
    source : str
        Where it comes from.
    """

    part: str
    after_months: int
    look_for: tuple[str, ...]
    caution: str
    source: str


def called_for(
    inspection: FirstUseInspection, standing_months: ArrayLike, factor: ArrayLike = 1.0
) -> BoolArray:
    """Say whether a part has stood long enough to be inspected before use.

    Parameters
    ----------
    inspection : FirstUseInspection
        The inspection and its standing time.
    standing_months : array_like
        Time the car has stood [months].
    factor : array_like
        The store's lay-up factor for the part [1]; a value below 1 counts as 1.

    Returns
    -------
    ndarray of bool
        True where the standing time, counted by the factor, reaches the inspection's. An unknown
        standing time calls for it.

    Notes
    -----
    Valid for 0 months and more.

    References
    ----------
    .. [1] Common practice.
    """
    months, counted = as_floats(standing_months, factor)
    reached = months * np.fmax(counted, 1.0) >= inspection.after_months
    return np.asarray(reached | np.isnan(months), dtype=np.bool_)
