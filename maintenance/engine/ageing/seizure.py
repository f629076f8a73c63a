"""Parts that stick when nothing moves them: pistons, slides, cables, clutch, water pump.

The cause is rust and dried grease in narrow gaps, which grow while the metal is wet. No source
gives a rate, so the estimate is an inspection before use.
"""

import numpy as np

from maintenance.engine.ageing.climate import StoreClimate, is_wet
from maintenance.engine.ageing.estimate import FloatArray
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference
from maintenance.engine.ageing.first_use import FirstUseInspection

MECHANISM = "seizure"
WET_TIME_COUNTS = 2.0  # [1] a day wet through counts two dry ones, common practice

_JACKING = "support the car on stands before going underneath; chock the wheels that stay down"
_SOURCE = "common practice"
INSPECTIONS = {
    "brake-caliper": FirstUseInspection(
        "brake caliper",
        6,
        (
            "each piston moves back by hand and comes out again with the pedal",
            "slides move freely; boots are whole and dry",
            "the wheel turns freely after the brake is let go",
        ),
        f"{_JACKING}; keep fingers clear of a piston under pressure",
        _SOURCE,
    ),
    "wheel-cylinder": FirstUseInspection(
        "wheel cylinder",
        6,
        (
            "fluid behind the boots",
            "both pistons move as someone presses the pedal, the shoes held by a clamp",
            "the shoes come back when it is let go",
        ),
        f"{_JACKING}; dust of old linings may hold asbestos",
        _SOURCE,
    ),
    "handbrake-cable": FirstUseInspection(
        "handbrake and cable",
        3,
        (
            "the lever's travel, and both wheels held and let go",
            "broken strands, a rusted sheath, dry pivots",
        ),
        _JACKING,
        _SOURCE,
    ),
    "clutch-plate": FirstUseInspection(
        "clutch",
        6,
        (
            "the clutch clears: with the engine off a gear goes in and the car can be pushed",
            "a plate rusted to the flywheel is freed by hand or taken out, not by a start in gear",
        ),
        "old clutch plates may hold asbestos; keep people away from the front of the car",
        _SOURCE,
    ),
    "water-pump": FirstUseInspection(
        "water pump",
        12,
        (
            "the shaft turns by hand with the belt off, without grating",
            "drops or crust at the weep hole",
        ),
        "only with the engine cold and unable to start; hot coolant is under pressure",
        _SOURCE,
    ),
}


def inspection(kind: str) -> FirstUseInspection:
    """Give the inspection of a part before first use.

    Parameters
    ----------
    kind : str
        Slug of the component kind, such as ``brake-caliper`` [no unit].

    Returns
    -------
    FirstUseInspection
        What to look for, and after how long [months].

    Raises
    ------
    ValueError
        If there is none for the kind.

    References
    ----------
    .. [1] Common practice.
    """
    if kind not in INSPECTIONS:
        raise ValueError(
            f"no seizure inspection for kind {kind!r}; there is one for {', '.join(INSPECTIONS)}"
        )
    return INSPECTIONS[kind]


def sticking_rate(temperature_c: FloatArray, humidity: FloatArray) -> FloatArray:
    """Give how fast a part sticks, against dry metal.

    Parameters
    ----------
    temperature_c : ndarray
        Temperature [°C].
    humidity : ndarray
        Relative humidity [%RH].

    Returns
    -------
    ndarray
        2 while the metal is wet, 1 while it is dry [1].

    Notes
    -----
    Valid for any climate; wet is above 80 %RH and above 0 °C.

    References
    ----------
    .. [1] Wet: ISO 9223:2012, Annex B; twice as fast: common practice.
    """
    return np.where(is_wet(temperature_c, humidity), WET_TIME_COUNTS, 1.0)


_LAW = RateLaw(
    MECHANISM,
    sticking_rate,
    "sticking against dry metal (wet above 80 %RH and 0 °C)",
    "ISO 9223:2012, Annex B; weight of a wet day: common practice",
)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for a part that can seize.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        1 in a store that is never wet, 2 in one that always is [1].

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for any climate that a record accepts.

    References
    ----------
    .. [1] As `sticking_rate`.
    """
    return compared_with_reference(_LAW, store)
