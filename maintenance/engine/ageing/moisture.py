"""Water in brake and clutch fluid: how it gets in, and how much there is.

Glycol fluid takes water from the air through hoses, seals and the reservoir's vent until it is in
balance with the store; what that does to its boiling point stands in `boiling_points`. Silicone and
mineral fluid follow no such curve, yet are inspected all the same.
"""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.estimate import (
    Estimate,
    FloatArray,
    as_floats,
    banded,
    first_reason,
)
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "moisture"
REFERENCE_HUMIDITY = 60.0  # [%RH] the trade's uptake figures read as those of ordinary air
SATURATION_AT_REFERENCE = 7.5  # [%] 7 to 8 % after several years: trade article
FIRST_YEAR_UPTAKE = (1.25, 2.0, 3.0)  # [%] low, central, high: three trade articles disagree
HIGHEST_WATER = 10.0  # [%] beyond this the curve is a guess
PERMEATION_REFERENCE_C = 20.0  # [°C] warmer stores drive water in faster; cooler earn no credit


def uptake_rate(temperature_c: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Give how fast dry fluid takes up water, against ordinary air.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].
    humidity : array_like
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        Rate over the rate at 60 %RH and up to 20 °C [1].

    Notes
    -----
    Valid for −40 to 60 °C and 0 to 100 %RH: in proportion to humidity, and above 20 °C also to the
    vapour pressure of water. A cold store earns no credit.

    References
    ----------
    .. [1] Vapour pressure: as `pace`.
    .. [2] Uptake in proportion to humidity: common practice.
    """
    temperature, humid = as_floats(temperature_c, humidity)
    return np.asarray(humid / REFERENCE_HUMIDITY * pace(temperature), dtype=np.float64)


def pace(temperature_c: ArrayLike) -> FloatArray:
    """Give how fast fluid nears its balance with the air, against 20 °C.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].

    Returns
    -------
    ndarray
        Vapour pressure over that at 20 °C [1]; 1 where it is colder.

    Notes
    -----
    Valid for −40 to 60 °C. A cold store earns no credit.

    References
    ----------
    .. [1] Vapour pressure: Magnus formula with 17.62 and 243.12 °C, WMO No. 8 (memory).
    """
    (temperature,) = as_floats(temperature_c)
    warm = np.maximum(temperature, PERMEATION_REFERENCE_C)
    usual = 17.62 * PERMEATION_REFERENCE_C / (243.12 + PERMEATION_REFERENCE_C)
    return np.asarray(np.exp(17.62 * warm / (243.12 + warm) - usual), dtype=np.float64)


_LAW = RateLaw(
    MECHANISM,
    uptake_rate,
    "water uptake against ordinary air",
    "common practice",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for glycol fluid.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        Mean uptake in the store over that in the dry store [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for glycol fluid. For silicone and mineral oil it is merely on the early side.

    References
    ----------
    .. [1] Uptake in proportion to humidity: common practice.
    """
    return compared_with_reference(_LAW, store)


def saturation_content(humidity: ArrayLike) -> FloatArray:
    """Give the water content at which fluid is in balance with the air.

    Parameters
    ----------
    humidity : array_like
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        Water content by weight [%]; nan outside 0 to 100 %RH.

    Notes
    -----
    Valid for glycol fluid. The 7 to 8 % found in old fluid is read as the balance at 60 %RH.

    References
    ----------
    .. [1] 7 to 8 % after several years: trade article; in proportion to humidity: common practice.
    """
    (humid,) = as_floats(humidity)
    content = SATURATION_AT_REFERENCE * humid / REFERENCE_HUMIDITY
    return np.where((humid >= 0.0) & (humid <= 100.0), content, np.nan)


def water_content(
    days: ArrayLike, humidity: ArrayLike = REFERENCE_HUMIDITY, start: ArrayLike = 0.0
) -> Estimate:
    """Estimate the water in glycol fluid after a time in air of one humidity.

    Parameters
    ----------
    days : array_like
        Days since the fluid was new, or since its content was measured [days].
    humidity : array_like
        Relative humidity of the store [%RH].
    start : array_like
        Water content on the first of those days [%]; a measured content corrects the curve here.

    Returns
    -------
    Estimate
        Water content by weight [%].

    Notes
    -----
    Valid for 0 days and more, 0 to 100 %RH, start 0 to 10 %, stores up to about 20 °C. Content
    approaches the saturation of the store exponentially; the band is that of the trade's figures.

    References
    ----------
    .. [1] About 2 % in a year and 3 % at 18 months; 2 to 3 % in two years; 3 % in a year: three
       trade articles.
    """
    time, humid, first = as_floats(days, humidity, start)
    limit = saturation_content(humid)
    low, central, high = (
        limit + (first - limit) * np.exp(-rate * np.maximum(time, 0.0)) for rate in rates_a_day()
    )
    reason = first_reason(
        (~(time >= 0.0), "the time since the fluid was new is not known or negative"),
        (~((humid >= 0.0) & (humid <= 100.0)), "the humidity is outside 0 to 100 %RH"),
        (
            ~((first >= 0.0) & (first <= HIGHEST_WATER)),
            "the water content at the start is outside 0 to 10 %",
        ),
    )
    # Above the saturation of a dry store fluid gives water back: there the quick rate is the low.
    return banded(np.minimum(low, high), central, np.maximum(low, high), "%", reason)


def water_history(
    days: ArrayLike, humidity: ArrayLike, start: float = 0.0, paces: ArrayLike = 1.0
) -> Estimate:
    """Follow the water content through one spell after another.

    Parameters
    ----------
    days : array_like
        Length of each spell in order [days].
    humidity : array_like
        Relative humidity in each spell [%RH].
    start : float
        Water content before the first spell [%].
    paces : array_like
        `pace` of each spell [1].

    Returns
    -------
    Estimate
        Water content at the end of each spell [%].

    Notes
    -----
    Valid as `water_content`; a spell outside its range leaves no estimate from there on.

    References
    ----------
    .. [1] As `water_content`.
    """
    spells, humid, quick = as_floats(np.atleast_1d(days), np.atleast_1d(humidity), paces)
    valid = (spells >= 0.0) & (humid >= 0.0) & (humid <= 100.0) & (0.0 <= start <= HIGHEST_WATER)
    balance = np.where(valid, saturation_content(humid), np.nan)
    decay = np.exp(-np.outer(rates_a_day(), quick * np.maximum(spells, 0.0)))
    rows = np.empty((spells.size, 3))
    low = central = high = start
    for row in range(spells.size):
        # Above the balance of a dry spell fluid gives water back, so either rate may be the edge.
        low = np.min(balance[row] + (low - balance[row]) * decay[:, row])
        central = balance[row] + (central - balance[row]) * decay[1, row]
        high = np.max(balance[row] + (high - balance[row]) * decay[:, row])
        rows[row] = low, central, high
    reason = first_reason(
        (~np.logical_and.accumulate(valid), "a spell, or the start, is not valid")
    )
    return banded(rows[:, 0], rows[:, 1], rows[:, 2], "%", reason)


def days_until(
    limit: ArrayLike, humidity: ArrayLike = REFERENCE_HUMIDITY, start: ArrayLike = 0.0
) -> Estimate:
    """Estimate when fluid will hold so much water.

    Parameters
    ----------
    limit : array_like
        Water content looked for [%].
    humidity : array_like
        Relative humidity of the store [%RH].
    start : array_like
        Water content now [%].

    Returns
    -------
    Estimate
        Days from now [days]; `low` is the earliest.

    Notes
    -----
    Valid where the limit lies between the start and the saturation of the store.

    References
    ----------
    .. [1] As `water_content`, solved for the time.
    """
    aim, humid, first = as_floats(limit, humidity, start)
    saturation = saturation_content(humid)
    reason = first_reason(
        (~(np.isfinite(saturation) & np.isfinite(aim) & (first >= 0.0)), "a figure is not known"),
        (saturation <= aim, "the fluid does not take up so much water in this store"),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        span = -np.log((saturation - aim) / (saturation - np.minimum(first, aim)))
    slow, usual, quick = (span / rate for rate in rates_a_day())
    return banded(quick, usual, slow, "days", reason)


def rates_a_day() -> tuple[float, ...]:
    """Turn the first year's uptake from dry into rate constants.

    Returns
    -------
    tuple of float
        Slow, usual and quick [1/day].

    Notes
    -----
    Valid for air of 60 %RH, up to 20 °C.

    References
    ----------
    .. [1] As `water_content`.
    """
    return tuple(
        float(-np.log(1.0 - uptake / SATURATION_AT_REFERENCE) / 365.25)
        for uptake in FIRST_YEAR_UPTAKE
    )
