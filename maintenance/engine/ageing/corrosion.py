"""Steel: how much the air of the store takes off in a year, and the store's category."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate, as_climate
from maintenance.engine.ageing.estimate import (
    Estimate,
    FloatArray,
    TextArray,
    as_floats,
    banded,
    first_reason,
)
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "steel_corrosion"
SULPHUR_DIOXIDE = 5.0  # [mg/(m² d)] deposition in clean country air, common practice
CHLORIDE = 3.0  # [mg/(m² d)] deposition away from the coast, common practice
DOSE_RANGES = {  # what the dose-response function was fitted on: ISO 9223:2012, table 3
    "temperature_c": (-17.1, 28.7),
    "humidity": (34.0, 93.0),
    "sulphur_dioxide": (0.7, 150.4),
    "chloride": (0.4, 760.5),
}
DOSE_BAND = (0.67, 1.5)  # [1] uncertainty of the function: ISO 9223:2012, Annex A (memory)


@dataclass(frozen=True)
class CorrosivityCategory:
    """A category of corrosivity.

    Attributes
    ----------
    name : str
        C1 to CX.
    low_um, high_um : float
        First-year loss of carbon steel [µm].
    """

    name: str
    low_um: float
    high_um: float


CATEGORIES = {  # ISO 9223:2012, table 2, carbon steel
    category.name: category
    for category in (
        CorrosivityCategory("C1", 0.0, 1.3),
        CorrosivityCategory("C2", 1.3, 25.0),
        CorrosivityCategory("C3", 25.0, 50.0),
        CorrosivityCategory("C4", 50.0, 80.0),
        CorrosivityCategory("C5", 80.0, 200.0),
        CorrosivityCategory("CX", 200.0, 700.0),
    )
}
# ISO 9223:2012, table C.1: heated rooms C1, unheated stores C2, occasional condensation C3, and
# outdoors C3 in towns; a salted coast is C4 to C5, which the keeper has to say.
GRADE_CATEGORIES = {"heated": "C1", "dry": "C2", "damp": "C3", "outdoors": "C3"}


def first_year_loss(
    temperature_c: ArrayLike,
    humidity: ArrayLike,
    sulphur_dioxide: ArrayLike = SULPHUR_DIOXIDE,
    chloride: ArrayLike = CHLORIDE,
) -> Estimate:
    """Compute the first year's loss of carbon steel from the air.

    Parameters
    ----------
    temperature_c : array_like
        Yearly mean temperature [°C].
    humidity : array_like
        Yearly mean relative humidity [%RH].
    sulphur_dioxide, chloride : array_like
        Deposition [mg/(m² d)].

    Returns
    -------
    Estimate
        Loss in the first year [µm].

    Notes
    -----
    Valid for −17.1 to 28.7 °C, 34 to 93 %RH, sulphur dioxide 0.7 to 150.4 and chloride 0.4 to 760.5
    mg/(m² d), for open air; indoors it is a guide only.

    References
    ----------
    .. [1] ISO 9223:2012, dose-response function for carbon steel and table 3.
    .. [2] Band of −33 to +50 %: ISO 9223:2012, Annex A (memory).
    """
    columns = as_floats(temperature_c, humidity, sulphur_dioxide, chloride)
    clipped = [
        np.clip(column, low, high)
        for column, (low, high) in zip(columns, DOSE_RANGES.values(), strict=True)
    ]
    inside = np.logical_and.reduce([c == edge for c, edge in zip(columns, clipped, strict=True)])
    loss = _dose_response(*clipped)
    reason = first_reason(
        (~inside, "the air is outside the range on which the dose-response function was fitted")
    )
    return banded(loss * DOSE_BAND[0], loss, loss * DOSE_BAND[1], "µm", reason)


def category_of(loss_um: ArrayLike) -> TextArray:
    """Name the category of a first-year loss.

    Parameters
    ----------
    loss_um : array_like
        Loss of carbon steel in the first year [µm].

    Returns
    -------
    ndarray of str
        ``C1`` to ``CX``; empty for a negative, missing or larger loss.

    Notes
    -----
    Valid for 0 to 700 µm; a loss on a bound belongs to the lower category.

    References
    ----------
    .. [1] ISO 9223:2012, table 2.
    """
    (loss,) = as_floats(loss_um)
    names = np.asarray(["", *CATEGORIES, ""], dtype=np.str_)
    bounds = np.asarray([category.high_um for category in CATEGORIES.values()])
    place = 1 + np.searchsorted(bounds, loss, side="left")
    return np.asarray(names[np.where(loss >= 0.0, place, 0)], dtype=np.str_)


def first_year_band(category: str) -> tuple[float, float, float]:
    """Give the first-year loss of a category as a band.

    Parameters
    ----------
    category : str
        ``C1`` to ``CX`` [no unit].

    Returns
    -------
    tuple of float
        Low, middle and high loss of carbon steel [µm].

    Raises
    ------
    ValueError
        If the category is not known.

    References
    ----------
    .. [1] ISO 9223:2012, table 2.
    """
    if category not in CATEGORIES:
        raise ValueError(f"category {category!r} is not known; use one of {', '.join(CATEGORIES)}")
    bounds = CATEGORIES[category]
    return bounds.low_um, (bounds.low_um + bounds.high_um) / 2.0, bounds.high_um


def loss_rate(temperature_c: FloatArray, humidity: FloatArray) -> FloatArray:
    """Give the first year's loss with the air taken at the edge of the function's range.

    Parameters
    ----------
    temperature_c : ndarray
        Temperature [°C].
    humidity : ndarray
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        Loss in the first year [µm], never nan.

    Notes
    -----
    Valid for any climate that a record accepts: outside −17.1 to 28.7 °C or 34 to 93 %RH the edge
    is used, because a factor must exist. The season's means stand in for the year's.

    References
    ----------
    .. [1] ISO 9223:2012, dose-response function for carbon steel and table 3.
    """
    temperature = np.clip(temperature_c, *DOSE_RANGES["temperature_c"])
    humid = np.clip(humidity, *DOSE_RANGES["humidity"])
    return first_year_loss(temperature, humid).central


def category_of_store(store: str | StoreClimate) -> str:
    """Name the corrosivity category of a store.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    str
        ``C1`` to ``CX`` [no unit]: a grade's by the standard's examples, a record's by its loss.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for clean country air; near a salted coast take ``C4`` or ``C5`` instead.

    References
    ----------
    .. [1] ISO 9223:2012, tables 2 and C.1, and the dose-response function.
    """
    climate = as_climate(store)
    if climate.name in GRADE_CATEGORIES:
        return GRADE_CATEGORIES[climate.name]
    return str(category_of(climate.mean(loss_rate(climate.temperature_c, climate.humidity))))


_LAW = RateLaw(
    MECHANISM,
    loss_rate,
    "first year's loss of carbon steel, at the edge of −17.1 to 28.7 °C and 34 to 93 %RH",
    "ISO 9223:2012, dose-response function",
    unit="µm",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for steel.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        Mean first-year loss in the store over that in the dry store [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for clean country air; outside the function's range its edge is taken. A coast with salt
    is worse than any grade: say so by a rule of your own.

    References
    ----------
    .. [1] ISO 9223:2012, dose-response function for carbon steel.
    """
    return compared_with_reference(_LAW, store)


def _dose_response(
    temperature: FloatArray, humidity: FloatArray, sulphur_dioxide: FloatArray, chloride: FloatArray
) -> FloatArray:
    above_ten = temperature - 10.0
    warming = np.where(above_ten <= 0.0, 0.150 * above_ten, -0.054 * above_ten)
    dry_part = 1.77 * sulphur_dioxide**0.52 * np.exp(0.020 * humidity + warming)
    salt_part = 0.102 * chloride**0.62 * np.exp(0.033 * humidity + 0.040 * temperature)
    return np.asarray(dry_part + salt_part, dtype=np.float64)
