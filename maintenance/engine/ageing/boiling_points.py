"""The boiling point of glycol fluid by its water, and the water by a measured boiling point.

A circuit that boils gives a pedal that goes to the floor. The curve is that of fluid that just
meets its grade, a better fluid boils higher; a measured boiling point corrects the water.
"""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.estimate import Estimate, as_floats, banded, first_reason
from maintenance.engine.ageing.hydraulic_fluids import GLYCOL, HydraulicFluid, exemption
from maintenance.engine.ageing.moisture import HIGHEST_WATER

WET_TEST_WATER = 3.7  # [%] in the reference fluid at the end of the wet test: 49 CFR 571.116 S6.2
WATER_BOILS_C = 100.0  # [°C] at sea level: what a fluid that is all water would do


def boiling_point(water: ArrayLike | Estimate, fluid: HydraulicFluid) -> Estimate:
    """Estimate the boiling point of a glycol fluid from the water in it.

    Parameters
    ----------
    water : array_like or Estimate
        Water content by weight [%].
    fluid : HydraulicFluid
        The grade in the circuit.

    Returns
    -------
    Estimate
        Boiling point of fluid that just meets its grade [°C].

    Notes
    -----
    Valid for glycol fluid with 0 to 10 % of water, at sea level. An exponential through the dry
    minimum at 0 % and the wet minimum at 3.7 %, falling on towards 100 °C. The wet minimum is no
    floor: old fluid can hold more water than the wet test leaves in the reference fluid. Of an
    estimate of the water the part above 10 % counts as 10 %: such fluid boils below what is told.

    References
    ----------
    .. [1] 49 CFR 571.116 S5.1.1, S5.1.2, S6.2.
    """
    if isinstance(water, Estimate):
        wetter, middle, drier = (
            boiling_point(np.minimum(part, HIGHEST_WATER), fluid)
            for part in (water.high, water.central, water.low)
        )
        reason = np.where(water.reason != "", water.reason, middle.reason)
        return banded(
            wetter.central, middle.central, drier.central, "°C", np.asarray(reason, dtype=np.str_)
        )
    (content,) = as_floats(water)
    if fluid.base != GLYCOL or fluid.dry_c is None or fluid.wet_c is None:
        nothing = np.full(content.shape, np.nan)
        why = first_reason((np.ones(content.shape, dtype=np.bool_), exemption(fluid)))
        return banded(nothing, nothing, nothing, "°C", why)
    steepness = steepness_of(fluid.dry_c, fluid.wet_c)
    value = WATER_BOILS_C + (fluid.dry_c - WATER_BOILS_C) * np.exp(-steepness * content)
    reason = first_reason(
        (
            ~((content >= 0.0) & (content <= HIGHEST_WATER)),
            "the curve holds for 0 to 10 % of water only",
        )
    )
    return banded(value, value, value, "°C", reason)


def water_from_boiling_point(boiling_point_c: ArrayLike, fluid: HydraulicFluid) -> Estimate:
    """Read the water content off a measured boiling point.

    Parameters
    ----------
    boiling_point_c : array_like
        Measured boiling point [°C].
    fluid : HydraulicFluid
        The grade in the circuit.

    Returns
    -------
    Estimate
        Water content by weight [%], the start of the curve from that day on.

    Notes
    -----
    Valid for glycol fluid, from the boiling point at 10 % upwards; fluid that boils above its dry
    minimum is better than its grade and counts as dry.

    References
    ----------
    .. [1] The curve of `boiling_point`, solved for the water.
    """
    (measured,) = as_floats(boiling_point_c)
    if fluid.base != GLYCOL or fluid.dry_c is None or fluid.wet_c is None:
        return boiling_point(np.full(measured.shape, np.nan), fluid)
    lowest = float(boiling_point(HIGHEST_WATER, fluid).central)
    reason = first_reason(
        (~np.isfinite(measured), "no boiling point was measured"),
        (measured < lowest, f"below {lowest:.0f} °C the curve no longer holds: renew the fluid"),
        (measured > 400.0, "no hydraulic fluid boils above 400 °C; check the unit"),
    )
    reach = np.maximum(measured, lowest) - WATER_BOILS_C
    steepness = steepness_of(fluid.dry_c, fluid.wet_c)
    content = np.maximum(0.0, np.log((fluid.dry_c - WATER_BOILS_C) / reach) / steepness)
    return banded(content, content, content, "%", reason)


def steepness_of(dry_c: float, wet_c: float) -> float:
    """Give how fast the boiling point falls towards 100 °C with the water.

    Parameters
    ----------
    dry_c, wet_c : float
        Least boiling points of the grade, dry and at 3.7 % of water [°C].

    Returns
    -------
    float
        Share a per cent of water [1/%].

    Notes
    -----
    Valid for a grade whose wet minimum lies between 100 °C and its dry one.

    References
    ----------
    .. [1] 49 CFR 571.116 S5.1.1, S5.1.2, S6.2.
    """
    return float(np.log((dry_c - WATER_BOILS_C) / (wet_c - WATER_BOILS_C)) / WET_TEST_WATER)
