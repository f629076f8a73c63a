"""Steel in later years: the loss by the power law, and how often to look.

The loss is the even one of a bare test plate. Pits run ahead of it, paint holds it back, salt left
from the road beats every figure here: the dates say when to look, never that a part is sound.
"""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.corrosion import first_year_band
from maintenance.engine.ageing.estimate import Estimate, FloatArray, as_floats, banded, first_reason

TIME_EXPONENT = 0.523  # [1] carbon steel, B1: ISO 9224:2012, table 3
UPPER_TIME_EXPONENT = 0.575  # [1] carbon steel, B2, the careful one: ISO 9224:2012, table 3
LINEAR_AFTER_YEARS = 20.0  # [years] from there on the loss may grow evenly: ISO 9224:2012
LONGEST_YEARS = 100.0  # [years] where the table ends: ISO 9224:2012, table 3
PITTING = 4.0  # [1] deepest pit over even loss, common practice
LONGEST_LOOK_MONTHS = 24  # [months] however dry the store, common practice


def time_multiple(years: ArrayLike, exponent: float = TIME_EXPONENT) -> FloatArray:
    """Give the loss after a time as a multiple of the first year's, by the power law.

    Parameters
    ----------
    years : array_like
        Time in that air [years].
    exponent : float
        Time exponent of the metal [1].

    Returns
    -------
    ndarray
        Multiple of the first year's loss [1]; nan for a negative time or beyond 100 years.

    Notes
    -----
    Valid for 0 to 100 years, the length of the standard's table.

    References
    ----------
    .. [1] ISO 9224:2012, power law and table 3.
    """
    (time,) = as_floats(years)
    multiple = np.power(np.clip(time, 0.0, LONGEST_YEARS), exponent)
    return np.where((time >= 0.0) & (time <= LONGEST_YEARS), multiple, np.nan)


def careful_multiple(years: ArrayLike, exponent: float = TIME_EXPONENT) -> FloatArray:
    """Give the same multiple with an even loss after twenty years, when rust protects no more.

    Parameters
    ----------
    years : array_like
        Time in that air [years].
    exponent : float
        Time exponent of the metal [1].

    Returns
    -------
    ndarray
        Multiple of the first year's loss [1]; nan for a negative time or beyond 100 years.

    Notes
    -----
    Valid for 0 to 100 years: up to 20 years the power law, after them its tangent.

    References
    ----------
    .. [1] ISO 9224:2012, formula for more than twenty years.
    """
    (time,) = as_floats(years)
    early = time_multiple(np.minimum(time, LINEAR_AFTER_YEARS), exponent)
    slope = exponent * LINEAR_AFTER_YEARS ** (exponent - 1.0)
    late = np.maximum(time - LINEAR_AFTER_YEARS, 0.0) * slope
    return np.where(time <= LONGEST_YEARS, early + late, np.nan)


def steel_loss(years: ArrayLike, category: str) -> Estimate:
    """Estimate the even loss of bare carbon steel.

    Parameters
    ----------
    years : array_like
        Time in that air [years].
    category : str
        Corrosivity of the store, ``C1`` to ``CX``.

    Returns
    -------
    Estimate
        Loss of thickness on one side [µm]; the high edge with the greater exponent, and even
        after twenty years.

    Raises
    ------
    ValueError
        If the category is not known.

    Notes
    -----
    Valid for 0 to 100 years of bare steel, without salt left from the road.

    References
    ----------
    .. [1] ISO 9223:2012, table 2; ISO 9224:2012, table 3.
    """
    low, middle, high = first_year_band(category)
    usual, careful = time_multiple(years), careful_multiple(years, UPPER_TIME_EXPONENT)
    # Before the first year is out the larger exponent gives the smaller multiple.
    upper = np.fmax(usual, careful)
    reason = first_reason((np.isnan(usual), "the loss is known for 0 to 100 years only"))
    return banded(low * usual, middle * usual, high * upper, "µm", reason)


def inspection_months(wall_mm: ArrayLike, years: ArrayLike, category: str) -> Estimate:
    """Give the months until a steel part is next to be looked at.

    Parameters
    ----------
    wall_mm : array_like
        Thickness of its thinnest wall when new [mm].
    years : array_like
        Time it has been in that air [years].
    category : str
        Corrosivity of the store, ``C1`` to ``CX``.

    Returns
    -------
    Estimate
        Whole months, 1 to 24 [months]; 1 where pits may already have taken a third of the wall.
        `low` is for the category's highest loss.

    Raises
    ------
    ValueError
        If the category is not known.

    Notes
    -----
    Valid for walls of 0.3 to 20 mm and 0 to 98 years: the time in which pits, at four times the
    even loss, use up half of what is left of a third of the wall. Bare steel without
    salt; look sooner where there is either rust already or salt.

    References
    ----------
    .. [1] ISO 9224:2012; a pipe corroded by a third of its wall is a major defect: GB inspection
       manual for cars, section 1; pitting factor and half: common practice.
    """
    wall, time = as_floats(wall_mm, years)
    low, middle, high = first_year_band(category)
    reason = first_reason(
        (~((wall >= 0.3) & (wall <= 20.0)), "the wall is outside 0.3 to 20 mm"),
        (~((time >= 0.0) & (time <= 98.0)), "the time in that air is outside 0 to 98 years"),
    )
    return banded(
        _months_to_half(wall, time, high),
        _months_to_half(wall, time, middle),
        _months_to_half(wall, time, low),
        "months",
        reason,
    )


def _months_to_half(wall_mm: FloatArray, years: FloatArray, first_year_um: float) -> FloatArray:
    months = np.arange(0, LONGEST_LOOK_MONTHS + 1) / 12.0
    depth = PITTING * first_year_um * careful_multiple(years[..., None] + months)
    left = wall_mm * 1000.0 / 3.0 - depth[..., 0]
    spent = depth - depth[..., :1]
    within = np.count_nonzero(spent <= left[..., None] / 2.0, axis=-1) - 1
    return np.asarray(np.clip(within, 1, LONGEST_LOOK_MONTHS), dtype=np.float64)
