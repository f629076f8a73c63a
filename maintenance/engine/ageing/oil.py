"""Engine, gearbox and axle oil: its time limit runs while the car stands.

Used oil holds acid and water that no hot run drives off in a store; bearings and bores stand in
it. Damp air, breathed in with each warm day, adds to the water.
"""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate, is_wet
from maintenance.engine.ageing.estimate import BoolArray, FloatArray, as_floats
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "oil"
WET_TIME_COUNTS = 1.5  # [1] a day of condensing air counts one and a half, common practice
RENEW_BEFORE_USE_MONTHS = 12  # [months] standing after which oil is renewed first, common practice

BEFORE_USE = (
    "renew the oil and its filter before the engine is run",
    "turn the engine by hand, then on the starter without ignition until the oil pressure shows",
)


def spoiling_rate(temperature_c: FloatArray, humidity: FloatArray) -> FloatArray:
    """Give how fast oil spoils in a store, against dry air.

    Parameters
    ----------
    temperature_c : ndarray
        Temperature [°C].
    humidity : ndarray
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        1.5 while water condenses, 1 otherwise [1].

    Notes
    -----
    Valid for any climate; water condenses above 80 %RH and 0 °C.

    References
    ----------
    .. [1] Wet: ISO 9223:2012, Annex B; half as much again: common practice.
    """
    return np.where(is_wet(temperature_c, humidity), WET_TIME_COUNTS, 1.0)


def renew_before_use(standing_months: ArrayLike) -> BoolArray:
    """Say whether oil has stood so long that it is renewed before use.

    Parameters
    ----------
    standing_months : array_like
        Time the car has stood [months].

    Returns
    -------
    ndarray of bool
        True from 12 months on, and where the time is not known.

    Notes
    -----
    Valid for mineral and synthetic oil; a maker's shorter time goes before it.

    References
    ----------
    .. [1] Common practice.
    """
    (months,) = as_floats(standing_months)
    return np.asarray(~(months < RENEW_BEFORE_USE_MONTHS), dtype=np.bool_)


_LAW = RateLaw(
    MECHANISM,
    spoiling_rate,
    "spoiling against dry air (water condenses above 80 %RH and 0 °C)",
    "ISO 9223:2012, Annex B; weight of a wet day: common practice",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for oil.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        1 in a store that is never wet, 1.5 in one that always is [1].

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for any climate that a record accepts.

    References
    ----------
    .. [1] As `spoiling_rate`.
    """
    return compared_with_reference(_LAW, store)
