"""An estimate of a part's present state: low, central and high, or the reason why there is none."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.str_]


@dataclass(frozen=True, eq=False)
class Estimate:
    """A quantity with its band; all four arrays have one shape.

    Attributes
    ----------
    low, central, high : ndarray of float
        The band in `unit`; nan where `reason` says why.
    unit : str
        Unit of the three arrays, such as ``"%"`` or ``"°C"``.
    reason : ndarray of str
        Empty where there is an estimate, else why there is none.
    """

    low: FloatArray
    central: FloatArray
    high: FloatArray
    unit: str
    reason: TextArray


def as_floats(*values: ArrayLike) -> list[FloatArray]:
    """Give scalars and arrays one common shape.

    Parameters
    ----------
    *values : array_like
        Numbers of any unit [as the caller states].

    Returns
    -------
    list of ndarray
        Float arrays of the shape that all broadcast to.

    References
    ----------
    .. [1] NumPy's broadcasting; common practice.
    """
    return list(np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values)))


def first_reason(*checks: tuple[BoolArray, str]) -> TextArray:
    """Take the first failing check of each element as its reason.

    Parameters
    ----------
    *checks : tuple of (ndarray of bool, str)
        Where a check fails, and the words for it [no unit].

    Returns
    -------
    ndarray of str
        Empty where every check passes.

    References
    ----------
    .. [1] Common practice.
    """
    failed = np.broadcast_arrays(*(check for check, _ in checks))
    return np.asarray(np.select(failed, [text for _, text in checks], default=""), dtype=np.str_)


def banded(
    low: ArrayLike, central: ArrayLike, high: ArrayLike, unit: str, reason: TextArray
) -> Estimate:
    """Build an estimate that is nan wherever there is a reason against it.

    Parameters
    ----------
    low, central, high : array_like
        The band [`unit`].
    unit : str
        Unit of the band.
    reason : ndarray of str
        Empty where the estimate stands.

    Returns
    -------
    Estimate
        With the band in order, and nan where `reason` is not empty.

    References
    ----------
    .. [1] Common practice.
    """
    refused = reason != ""
    arrays = [np.where(refused, np.nan, value) for value in as_floats(low, central, high)]
    return Estimate(arrays[0], arrays[1], arrays[2], unit, np.broadcast_to(reason, arrays[0].shape))
