"""Rubber hardens and cracks with heat, and outdoors with ozone and sunlight.

Heat: Arrhenius, with an activation energy for each polymer. Ozone and sunlight: a factor of their
own, stated beside it, because no temperature explains them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import (
    STANDARD_ROOM,
    StoreClimate,
    as_climate,
)
from maintenance.engine.ageing.estimate import (
    Estimate,
    FloatArray,
    as_floats,
    banded,
    first_reason,
)
from maintenance.engine.ageing.factors import LayUpFactor, RateLaw, compared_with_reference

MECHANISM = "elastomer"
GAS_CONSTANT = 8.314462618e-3  # [kJ/(mol K)] exact since the SI revision of 2019, rounded
ZERO_C_IN_K = 273.15
TEN_DEGREE_RULE = 51.216  # [kJ/mol] the energy at which 20 to 30 °C doubles the rate, computed

# Ozone and sunlight outdoors, by the polymer's backbone; common practice.
UNSATURATED, INTERMEDIATE, SATURATED = 1.5, 1.25, 1.1


@dataclass(frozen=True)
class Polymer:
    """A polymer's sensitivity to heat, ozone and sunlight.

    Attributes
    ----------
    symbol : str
        ISO 1629 symbol.
    low, central, high : float
        Activation energy with its band [kJ/mol].
    outdoors : float
        Factor for ozone and sunlight [1].
    source : str
        Where the activation energy comes from.
    """

    symbol: str
    low: float
    central: float
    high: float
    outdoors: float
    source: str


_EPDM = "EPDM ageing study, 2026: slopes −8263.6 and −9120.8 K"
_NITRILE = "Sandia, 1993: nitrile by elongation"
_BORROWED = f"no figure of its own; that of nitrile, the highest at hand, stands in ({_NITRILE})"


def _borrowed(symbol: str, outdoors: float) -> Polymer:
    return Polymer(symbol, TEN_DEGREE_RULE, 92.0, 92.0, outdoors, _BORROWED)


POLYMERS = {
    polymer.symbol: polymer
    for polymer in (
        Polymer("EPDM", 68.7, 72.25, 75.8, SATURATED, _EPDM),
        Polymer("NBR", TEN_DEGREE_RULE, 92.0, 92.0, UNSATURATED, _NITRILE),
        _borrowed("NR", UNSATURATED),
        _borrowed("IR", UNSATURATED),
        _borrowed("BR", UNSATURATED),
        _borrowed("SBR", UNSATURATED),
        _borrowed("CR", INTERMEDIATE),
        _borrowed("IIR", INTERMEDIATE),
        _borrowed("HNBR", SATURATED),
        _borrowed("ACM", SATURATED),
        _borrowed("ECO", SATURATED),
        _borrowed("CSM", SATURATED),
        _borrowed("AU", INTERMEDIATE),
        _borrowed("EU", INTERMEDIATE),
        _borrowed("FKM", SATURATED),
        _borrowed("FFKM", SATURATED),
        _borrowed("VMQ", SATURATED),
        _borrowed("FVMQ", SATURATED),
    )
}
UNKNOWN_POLYMER = _borrowed("unknown", UNSATURATED)


def arrhenius_factor(
    temperature_c: ArrayLike, reference_c: ArrayLike, activation_energy: ArrayLike
) -> FloatArray:
    """Compare the rate of a reaction at two temperatures.

    Parameters
    ----------
    temperature_c, reference_c : array_like
        The two temperatures [°C].
    activation_energy : array_like
        Activation energy [kJ/mol].

    Returns
    -------
    ndarray
        Rate at `temperature_c` over rate at `reference_c` [1]; nan below −273.15 °C or for an
        energy that is not positive.

    Notes
    -----
    The formula is general. For rubber it holds between about −20 and 125 °C, while one reaction
    governs; nearer to its tests than to a cold store.

    References
    ----------
    .. [1] ISO 11346:2014, Arrhenius method.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.5.1.
    """
    here, there, energy = as_floats(temperature_c, reference_c, activation_energy)
    here_k, there_k = here + ZERO_C_IN_K, there + ZERO_C_IN_K
    possible = (here_k > 0.0) & (there_k > 0.0) & (energy > 0.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        factor = np.exp(energy / GAS_CONSTANT * (1.0 / there_k - 1.0 / here_k))
    return np.where(possible, factor, np.nan)


def polymer_of(symbol: str) -> Polymer:
    """Find a polymer by its symbol.

    Parameters
    ----------
    symbol : str
        ISO 1629 symbol, such as ``NBR``; empty where it is not known [no unit].

    Returns
    -------
    Polymer
        The polymer; for an empty symbol one that assumes the worst of the table.

    Raises
    ------
    ValueError
        If the symbol is not in the table.

    References
    ----------
    .. [1] ISO 1629, symbols of rubbers.
    """
    if not symbol:
        return UNKNOWN_POLYMER
    if symbol not in POLYMERS:
        raise ValueError(f"polymer {symbol!r} is not known; use one of {', '.join(POLYMERS)}")
    return POLYMERS[symbol]


def lay_up_factor(store: str | StoreClimate, polymer: str = "") -> LayUpFactor:
    """Give what a day in the store counts for a rubber part.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.
    polymer : str
        ISO 1629 symbol; empty assumes the worst of the table.

    Returns
    -------
    LayUpFactor
        Mean Arrhenius rate over that at 20 °C, times ozone and sunlight outdoors [1].

    Raises
    ------
    ValueError
        If the storage grade or the polymer is not known.

    Notes
    -----
    Valid for −40 to 60 °C as arithmetic; the energies were measured on tests well above that.

    References
    ----------
    .. [1] ISO 11346:2014; energies as `Polymer.source`; ozone and sunlight: common practice.
    """
    rubber = polymer_of(polymer)
    law = RateLaw(
        MECHANISM,
        lambda temperature, _: arrhenius_factor(temperature, 20.0, rubber.central),
        f"ageing against 20 °C at {rubber.central:g} kJ/mol",
        f"ISO 11346; {rubber.source}",
        outdoors_factor=rubber.outdoors,
        outdoors_text="ozone and sunlight outdoors",
        reference=STANDARD_ROOM,
    )
    return compared_with_reference(law, store)


def equivalent_age(days: ArrayLike, store: str | StoreClimate, polymer: str = "") -> Estimate:
    """Estimate how old standing has made a rubber part, in days of a cool room.

    Parameters
    ----------
    days : array_like
        Days in the store [days].
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.
    polymer : str
        ISO 1629 symbol; empty assumes the worst of the table.

    Returns
    -------
    Estimate
        Age in days of a room at 20 °C [days]: `central` and `high` never less than the
        calendar's; `low` gives a cold store the credit that the formula allows it.

    Raises
    ------
    ValueError
        If the storage grade or the polymer is not known.

    Notes
    -----
    Valid for 0 days and more. The band spans the activation energies, and at its low edge the
    cold; the part's history of oil, heat and stretching is not in it, so look at the part.

    References
    ----------
    .. [1] As `lay_up_factor`.
    """
    rubber, climate = polymer_of(polymer), as_climate(store)
    exposure = rubber.outdoors if climate.outdoors else 1.0
    rates = [_mean_rate(climate, energy) for energy in (rubber.low, rubber.central, rubber.high)]
    low, central, high = (
        exposure * rate for rate in (min(rates), max(1.0, rates[1]), max(1.0, *rates))
    )
    (time,) = as_floats(days)
    reason = first_reason((~(time >= 0.0), "the time in the store is not known or negative"))
    return banded(time * low, time * central, time * high, "days", reason)


def _mean_rate(climate: StoreClimate, energy: float) -> float:
    """Average the rate in a store against that at 20 °C, the cool room's."""
    return climate.mean(arrhenius_factor(climate.temperature_c, 20.0, energy))
