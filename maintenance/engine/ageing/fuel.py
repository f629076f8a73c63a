"""Petrol in a tank: it goes stale in months, sooner when warm, damp or in the sun.

Petrol vapour explodes and gathers low down, in pits above all: draining is work in the open air,
without spark or flame, into vessels made for it, as the local law says.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate, as_climate, is_wet
from maintenance.engine.ageing.estimate import (
    Estimate,
    FloatArray,
    as_floats,
    banded,
)
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "fuel"
LIFE_MONTHS = (3.0, 4.5, 6.0)  # [months] petrol 3 to 6 months: trade advice; middle of the two
DAYS_IN_MONTH = 30.436875  # [days] Gregorian mean
KEEPS_AT_C = 20.0  # [°C] six months at 20 °C, three at 30 °C in a closed can: motoring club
TEN_KELVIN_RATIO = 2.0  # [1] from the same two figures
WET_TIME_COUNTS = 1.25  # [1] ethanol draws water in damp air, common practice
SUN_ON_TANK = 1.25  # [1] a warm tank breathes out its light ends each day, common practice
LONG_STORAGE_MONTHS = 2  # [months] beyond: ethanol-free fuel or an empty tank, FIVA storage advice

LONG_STORAGE_ADVICE = (
    "over two months: fill with ethanol-free petrol, or have the tank emptied (FIVA storage advice)"
)


def long_storage_advice(standing_months: float) -> str:
    """Say what to do about the tank before a long lay-up.

    Parameters
    ----------
    standing_months : float
        Time the car is to stand [months].

    Returns
    -------
    str
        The advice, or empty for two months and less.

    Notes
    -----
    Valid for petrol; nan, a lay-up without a known end, counts as long.

    References
    ----------
    .. [1] FIVA, storage advice.
    """
    return "" if standing_months <= LONG_STORAGE_MONTHS else LONG_STORAGE_ADVICE


def staling_rate(temperature_c: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Give how fast petrol goes stale, against a closed can at 20 °C or below.

    Parameters
    ----------
    temperature_c : array_like
        Temperature of the tank [°C].
    humidity : array_like
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        Rate over that at 20 °C in dry air [1]; a cold store earns no credit.

    Notes
    -----
    Valid for −40 to 60 °C; published figures are for 20 and 30 °C.

    References
    ----------
    .. [1] Six months at 20 °C and three at 30 °C: a motoring club, quoted in the press.
    .. [2] Wet above 80 %RH and 0 °C: ISO 9223:2012, Annex B; its weight: common practice.
    """
    temperature, humid = as_floats(temperature_c, humidity)
    warmth = TEN_KELVIN_RATIO ** (np.maximum(0.0, temperature - KEEPS_AT_C) / 10.0)
    damp = np.where(is_wet(temperature, humid), WET_TIME_COUNTS, 1.0)
    return np.asarray(warmth * damp, dtype=np.float64)


def stale_after(store: str | StoreClimate) -> Estimate:
    """Estimate how long petrol keeps in a store.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    Estimate
        Days from filling [days]; `low` is the day to have used or drained it by.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for petrol without stabiliser in the car's own vented tank.

    References
    ----------
    .. [1] Petrol 3 to 6 months: trade advice; rate: as `staling_rate`.
    """
    climate = as_climate(store)
    pace = climate.mean(staling_rate(climate.temperature_c, climate.humidity))
    pace *= SUN_ON_TANK if climate.outdoors else 1.0
    low, central, high = (np.floor(months * DAYS_IN_MONTH / pace) for months in LIFE_MONTHS)
    return banded(low, central, high, "days", np.asarray("", dtype=np.str_))


def keeps_through(spells: Sequence[tuple[float, StoreClimate]]) -> Estimate:
    """Estimate how long petrol keeps in one store and another.

    Parameters
    ----------
    spells : sequence of (float, StoreClimate)
        Length of each stay [days] and its air, in order from the filling; the last goes on.

    Returns
    -------
    Estimate
        Days from filling [days].

    Notes
    -----
    Valid as `stale_after`: each day takes its share of the keeping time of its store.

    References
    ----------
    .. [1] As `stale_after`.
    """
    keeping = [(days, stale_after(store)) for days, store in spells]
    low, central, high = (
        _used_up([(days, float(getattr(keeps, edge))) for days, keeps in keeping])
        for edge in ("low", "central", "high")
    )
    return banded(low, central, high, "days", np.asarray("", dtype=np.str_))


def _used_up(keeping: Sequence[tuple[float, float]]) -> float:
    """Return the days until stays of (days, days that petrol keeps there) have used it up."""
    gone, left = 0.0, 1.0
    for days, keeps in keeping[:-1]:
        if left * keeps <= days:
            return float(np.floor(gone + left * keeps))
        gone, left = gone + days, left - days / keeps
    return float(np.floor(gone + left * keeping[-1][1] + 1e-9))


_LAW = RateLaw(
    MECHANISM,
    staling_rate,
    "staling against a closed can at 20 °C",
    "a motoring club's keeping times; damp: common practice",
    outdoors_factor=SUN_ON_TANK,
    outdoors_text="a tank in the sun breathes out its light ends",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for petrol.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        Mean staling over that in the dry store [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for petrol in the car's own vented tank.

    References
    ----------
    .. [1] As `staling_rate`.
    """
    return compared_with_reference(_LAW, store)
