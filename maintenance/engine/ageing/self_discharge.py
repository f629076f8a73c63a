"""Self-discharge of a lead-acid battery on the shelf, and the day to recharge it by.

Charging makes an explosive gas, the acid burns, and a short circuit welds: the figures here say
when to charge, the charger's and the battery maker's handbooks say how.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.battery import SPECIFIC_GRAVITY
from maintenance.engine.ageing.climate import StoreClimate, as_climate
from maintenance.engine.ageing.estimate import (
    BoolArray,
    Estimate,
    FloatArray,
    as_floats,
    banded,
)
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "self_discharge"
RECHARGE_GRAVITY = 1.225  # [1] charge whenever it falls to this: TM 5-3820-256-24-4
# Fully charged, first ten days: TM 9-6140-200-14, 4-8c: 50, 80 and 100 °F.
DISCHARGE_TEMPERATURE_C = np.array([10.0, 80.0 / 1.8 - 32.0 / 1.8, 100.0 / 1.8 - 32.0 / 1.8])
DISCHARGE_RATE = np.array([0.0003, 0.001, 0.0025])  # [1/day] of specific gravity
# An old battery loses more than the average one of the table, a maintenance-free one less.
RATE_BAND = (0.5, 1.0, 2.0)  # [1] common practice


def self_discharge_rate(temperature_c: ArrayLike) -> FloatArray:
    """Give how fast an average charged battery loses specific gravity.

    Parameters
    ----------
    temperature_c : array_like
        Temperature of the store [°C].

    Returns
    -------
    ndarray
        Loss of specific gravity [1/day]; nan outside 10 to 37.8 °C.

    Notes
    -----
    Valid for 10 to 37.8 °C, where the manual states rates; evenly in the logarithm between them.

    References
    ----------
    .. [1] TM 9-6140-200-14, 4-8c, first ten days of storage.
    """
    (temperature,) = as_floats(temperature_c)
    low, high = DISCHARGE_TEMPERATURE_C[[0, -1]]
    inside = (temperature >= low - 1e-9) & (temperature <= high + 1e-9)
    return np.where(inside, rate_at_the_edge(temperature, temperature), np.nan)


def rate_at_the_edge(temperature_c: FloatArray, _humidity: FloatArray) -> FloatArray:
    """Give the self-discharge with the temperature taken at the edge of the manual's range.

    Parameters
    ----------
    temperature_c : ndarray
        Temperature [°C].
    _humidity : ndarray
        Plays no part [%RH].

    Returns
    -------
    ndarray
        Loss of specific gravity [1/day], never nan.

    Notes
    -----
    Valid for 10 to 37.8 °C; a colder store earns no credit, a hotter one counts as 37.8 °C.

    References
    ----------
    .. [1] TM 9-6140-200-14, 4-8c.
    """
    logarithm = np.interp(temperature_c, DISCHARGE_TEMPERATURE_C, np.log(DISCHARGE_RATE))
    return np.asarray(np.exp(logarithm), dtype=np.float64)


def gravity_through(spells: Sequence[tuple[float, StoreClimate]], start: float) -> Estimate:
    """Estimate the specific gravity after one store and another.

    Parameters
    ----------
    spells : sequence of (float, StoreClimate)
        Length of each stay [days] and its air, in order.
    start : float
        Specific gravity before the first [1].

    Returns
    -------
    Estimate
        Specific gravity [1], not below 1.120.

    Notes
    -----
    Valid for a disconnected flooded battery, start 1.120 to 1.300, the manual's first rate kept
    throughout: partly charged batteries may lose less, so the date is early. A clock or alarm left
    connected drains it far sooner.

    References
    ----------
    .. [1] TM 9-6140-200-14, 4-8c.
    .. [2] Band of half to twice the rate: common practice.
    """
    lost = sum(days * loss_a_day(store) for days, store in spells)
    empty = SPECIFIC_GRAVITY[0]
    slow, usual, quick = (max(empty, start - share * lost) for share in RATE_BAND)
    known = bool(_plausible(np.asarray(start)))
    reason = "" if known else "the specific gravity at the start is outside 1.120 to 1.300"
    return banded(quick, usual, slow, "1", np.asarray(reason, dtype=np.str_))


def recharge_through(spells: Sequence[tuple[float, StoreClimate]], start: float) -> Estimate:
    """Estimate how long a battery keeps above 1.225 in one store and another.

    Parameters
    ----------
    spells : sequence of (float, StoreClimate)
        Length of each stay [days] and its air, in order; the last goes on.
    start : float
        Specific gravity before the first [1].

    Returns
    -------
    Estimate
        Days from the first of them [days]; 0 where it is at 1.225 already.

    Notes
    -----
    Valid as `gravity_through`.

    References
    ----------
    .. [1] Recharge at 1.225: TM 5-3820-256-24-4.
    .. [2] Rates: TM 9-6140-200-14, 4-8c.
    """
    above = max(0.0, start - RECHARGE_GRAVITY)
    slow, usual, quick = (_days_to_lose(above / share, spells) for share in RATE_BAND)
    known = bool(_plausible(np.asarray(start)))
    reason = "" if known else "the specific gravity at the start is outside 1.120 to 1.300"
    return banded(quick, usual, slow, "days", np.asarray(reason, dtype=np.str_))


def _days_to_lose(loss: float, spells: Sequence[tuple[float, StoreClimate]]) -> float:
    gone = 0.0
    for days, store in spells[:-1]:
        rate = loss_a_day(store)
        if loss <= rate * days:
            return float(np.floor(gone + loss / rate + 1e-9))
        gone, loss = gone + days, loss - rate * days
    return float(np.floor(gone + loss / loss_a_day(spells[-1][1]) + 1e-9))


_LAW = RateLaw(
    MECHANISM,
    rate_at_the_edge,
    "self-discharge, at the edge of 10 to 37.8 °C",
    "TM 9-6140-200-14, 4-8c",
    unit="1/day",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for a battery.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        Mean self-discharge over that in the dry store [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for 10 to 37.8 °C; beyond, the edge is taken.

    References
    ----------
    .. [1] TM 9-6140-200-14, 4-8c.
    """
    return compared_with_reference(_LAW, store)


def loss_a_day(store: str | StoreClimate) -> float:
    """Give what an average battery loses in a day of a store, on the mean.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    float
        Loss of specific gravity [1/day].

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid as `rate_at_the_edge`.

    References
    ----------
    .. [1] TM 9-6140-200-14, 4-8c.
    """
    climate = as_climate(store)
    return climate.mean(rate_at_the_edge(climate.temperature_c, climate.humidity))


def _plausible(gravity: FloatArray) -> BoolArray:
    return np.asarray((gravity >= SPECIFIC_GRAVITY[0]) & (gravity <= 1.300), dtype=np.bool_)
