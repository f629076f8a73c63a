"""Pads and shoes: rust creeps under the lining and lifts it from its plate.

Bonded lining can part whole; riveted lining cracks at its rivets. Either is seen only with the
wheel off, so the estimate here is an inspection, not a figure.
"""

from maintenance.engine.ageing import corrosion
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.factors import LayUpFactor, Step
from maintenance.engine.ageing.first_use import FirstUseInspection

MECHANISM = "friction_bond"
_CAUTION = (
    "old linings may hold asbestos: no dry brushing, no compressed air, damp the dust and follow "
    "the local law; support the car on stands before a wheel comes off"
)
INSPECTIONS = {
    "bonded": FirstUseInspection(
        "bonded lining",
        6,
        (
            "a line of rust between lining and plate, or a corner that lifts under a thumbnail",
            "cracks across or along the lining",
            "lining stuck to the drum or disc: free it by hand, never by driving off",
            "fluid, grease or rust on the lining; thickness at the thinnest point",
        ),
        _CAUTION,
        "common practice",
    ),
    "riveted": FirstUseInspection(
        "riveted lining",
        12,
        (
            "loose or rusted rivets, cracks from rivet to rivet",
            "rust between lining and shoe that pushes them apart",
            "lining stuck to the drum: free it by hand, never by driving off",
            "fluid, grease or rust on the lining; thickness above the rivet heads",
        ),
        _CAUTION,
        "common practice",
    ),
}


def inspection(construction: str = "bonded") -> FirstUseInspection:
    """Give the inspection of a lining before first use.

    Parameters
    ----------
    construction : str
        ``bonded`` or ``riveted``; where it is not known, bonded is the careful choice [no unit].

    Returns
    -------
    FirstUseInspection
        What to look for, and after how long [months].

    Raises
    ------
    ValueError
        If the construction is not known.

    References
    ----------
    .. [1] Common practice.
    """
    if construction not in INSPECTIONS:
        raise ValueError(
            f"construction {construction!r} is not known; use one of {', '.join(INSPECTIONS)}"
        )
    return INSPECTIONS[construction]


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for a lining on its plate.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        That of the steel under the lining [1], at least 1.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid as `corrosion.lay_up_factor`.

    References
    ----------
    .. [1] The bond fails as its plate rusts: common practice; rate: ISO 9223:2012.
    """
    factor = corrosion.lay_up_factor(store)
    taken = Step("a bond fails as the plate under it rusts", 1.0, "1", "common practice")
    return LayUpFactor(MECHANISM, factor.store, factor.hundredths, (taken, *factor.steps))
