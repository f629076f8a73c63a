"""Coolant: its inhibitors are used up standing or running, and a weak mixture freezes."""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing import rubber
from maintenance.engine.ageing.climate import STANDARD_ROOM, StoreClimate, as_climate
from maintenance.engine.ageing.estimate import BoolArray, FloatArray, as_floats
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "coolant"
FROST_MARGIN_K = 10.0  # [K] a grade's coldest month is a mean; nights are colder, common practice

BEFORE_USE = (
    "look for rust, oil and sludge in the coolant, and measure its freezing point",
    "coolant, never plain water, stands in the engine (FIVA storage advice)",
    "old hoses and the radiator's seams, cold; never open a hot system",
)


def depletion_rate(temperature_c: ArrayLike, _humidity: ArrayLike = 0.0) -> FloatArray:
    """Give how fast inhibitors are used up, against 20 °C.

    Parameters
    ----------
    temperature_c : array_like
        Temperature of the engine [°C].
    _humidity : array_like
        Plays no part in a closed system [%RH].

    Returns
    -------
    ndarray
        Rate over that at 20 °C [1].

    Notes
    -----
    Valid for a closed system at −40 to 60 °C: the ten-degree rule as an Arrhenius energy.

    References
    ----------
    .. [1] Ten-degree rule: common practice; exact at 51.216 kJ/mol from 20 to 30 °C.
    """
    return rubber.arrhenius_factor(temperature_c, 20.0, rubber.TEN_DEGREE_RULE)


def may_freeze(freezing_point_c: ArrayLike, store: str | StoreClimate) -> BoolArray:
    """Say whether coolant may freeze in a store.

    Parameters
    ----------
    freezing_point_c : array_like
        Measured freezing point of the coolant [°C].
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    ndarray of bool
        True where the coldest row of the climate, less 10 K, reaches the freezing point, and where
        the freezing point is not known.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for the climate given; a harder winter than the record is not in it.

    References
    ----------
    .. [1] Common practice.
    """
    (freezing,) = as_floats(freezing_point_c)
    climate = as_climate(store)
    coldest = float(np.min(climate.temperature_c[climate.weight_days > 0.0])) - FROST_MARGIN_K
    return np.asarray(~(freezing < coldest), dtype=np.bool_)


_LAW = RateLaw(
    MECHANISM,
    depletion_rate,
    "use of inhibitors against 20 °C, by the ten-degree rule",
    "common practice",
    reference=STANDARD_ROOM,
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for coolant.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        Mean depletion over that at 20 °C [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for a closed system with inhibited coolant.

    References
    ----------
    .. [1] As `depletion_rate`.
    """
    return compared_with_reference(_LAW, store)
