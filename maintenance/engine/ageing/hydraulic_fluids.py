"""Grades of brake and clutch fluid, their boiling point minima, and what must not be mixed."""

from dataclasses import dataclass

GLYCOL, SILICONE, MINERAL = "glycol", "silicone", "mineral oil"
SILICONE_NOTE = (
    "silicone fluid takes up practically no water, but water that gets in pools at the low points, "
    "boils and corrodes there: inspect it, and renew it at its interval"
)


@dataclass(frozen=True)
class HydraulicFluid:
    """A grade of hydraulic fluid with its boiling point minima.

    Attributes
    ----------
    slug, name, base : str
        Slug, printed name, and chemical base.
    dry_c, wet_c : float or None
        Least boiling point new, and after the wet test [°C].
    source : str
        Where the minima stand.
    viscosity_mm2_s : float or None
        Greatest kinematic viscosity at −40 °C [mm²/s]; thicker fluid makes a slow pedal in frost.
    """

    slug: str
    name: str
    base: str
    dry_c: float | None
    wet_c: float | None
    source: str
    viscosity_mm2_s: float | None = None


_FMVSS = "49 CFR 571.116 S5.1.1, S5.1.2"
FLUIDS = {
    fluid.slug: fluid
    for fluid in (
        HydraulicFluid("dot-3", "DOT 3", GLYCOL, 205.0, 140.0, _FMVSS, 1500.0),
        HydraulicFluid("dot-4", "DOT 4", GLYCOL, 230.0, 155.0, _FMVSS, 1800.0),
        HydraulicFluid("dot-5", "DOT 5", SILICONE, 260.0, 180.0, _FMVSS, 900.0),
        HydraulicFluid("dot-5.1", "DOT 5.1", GLYCOL, 260.0, 180.0, _FMVSS, 900.0),
        HydraulicFluid("mineral", "mineral oil", MINERAL, None, None, "common practice"),
    )
}

_ISO = "ISO 4925:2005 (memory)"
CLASSES = {
    fluid.name: fluid
    for fluid in (
        HydraulicFluid("dot-3", "class 3", GLYCOL, 205.0, 140.0, _ISO, 1500.0),
        HydraulicFluid("dot-4", "class 4", GLYCOL, 230.0, 155.0, _ISO, 1500.0),
        HydraulicFluid("dot-5.1", "class 5-1", GLYCOL, 260.0, 180.0, _ISO, 900.0),
        HydraulicFluid("class-6", "class 6", GLYCOL, 250.0, 165.0, _ISO, 750.0),
    )
}
"""Classes of ISO 4925, as a container names them; `slug` is the grade whose minima they meet."""


def exemption(fluid: HydraulicFluid) -> str:
    """Say why a fluid follows no water curve.

    Parameters
    ----------
    fluid : HydraulicFluid
        The grade in the circuit [no unit].

    Returns
    -------
    str
        Empty for glycol fluid.

    References
    ----------
    .. [1] Common practice.
    """
    if fluid.base == SILICONE:
        return SILICONE_NOTE
    if fluid.base == MINERAL:
        return "mineral oil has no published water curve; inspect it, and renew it at its interval"
    return ""


def mixing_warning(fitted: HydraulicFluid, added: HydraulicFluid) -> str:
    """Warn when a top-up does not belong with the fluid in the circuit.

    Parameters
    ----------
    fitted, added : HydraulicFluid
        What is in the circuit, and what was poured in [no unit].

    Returns
    -------
    str
        The warning, or empty where there is none.

    Notes
    -----
    Valid for the fluids of `FLUIDS`. The maker's handbook goes before this advice.

    References
    ----------
    .. [1] Common practice: bases don't mix; glycol grades do, at the lower grade's boiling point.
    """
    if fitted.base != added.base:
        return (
            f"{added.name} ({added.base}) was added to {fitted.name} ({fitted.base}): these bases "
            "must not be mixed; do not drive, and have the circuit drained, its rubber looked at "
            "and the right fluid put in"
        )
    if fitted.dry_c is not None and added.dry_c is not None and added.dry_c < fitted.dry_c:
        return (
            f"{added.name} was added to {fitted.name}: the mixture boils lower than the grade "
            "asked for; renew the fluid"
        )
    return ""
