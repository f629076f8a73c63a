"""Shelf life of rubber parts before they are fitted, counted from the quarter of cure."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate, as_climate
from maintenance.engine.days import NEVER, NO_DAY, DayArray, add_months

STORE_LIMIT_C = 25.0  # [°C] the periods assume a store below it: ISO 2230:2002, 6.2.1


@dataclass(frozen=True)
class ShelfGroup:
    """A group of polymers with one shelf life.

    Attributes
    ----------
    letter : str
        A, B or C.
    polymers : tuple of str
        ISO 1629 symbols.
    initial_years, extension_years : int
        Period from cure, and the further one after inspection [years].
    """

    letter: str
    polymers: tuple[str, ...]
    initial_years: int
    extension_years: int


SHELF_GROUPS = (
    ShelfGroup("A", ("NR", "IR", "BR", "SBR", "AU", "EU"), 5, 2),
    ShelfGroup("B", ("NBR", "HNBR", "CR", "IIR", "ACM", "ECO"), 7, 3),
    ShelfGroup("C", ("EPDM", "FKM", "FFKM", "VMQ", "FVMQ", "CSM"), 10, 5),
)


_ARP5316_FIFTEEN = ("NBR", "HNBR", "CR", "ACM", "AEM")
ARP5316_YEARS: dict[str, int | None] = {
    **dict.fromkeys(_ARP5316_FIFTEEN, 15),
    **dict.fromkeys(("AU", "EU"), 5),
    **dict.fromkeys(("IIR", "EPDM", "FKM", "VMQ"), None),
}
"""Shelf life of unfitted seals from cure by SAE ARP5316 [years], None for no limit.

SBR is left out, since what cites the practice gives 3 and 15. It sets none for assemblies.
"""


@dataclass(frozen=True, eq=False)
class ShelfLimits:
    """Last days of the initial and of the extended shelf period, days since 1970-01-01 [days]."""

    initial_until: DayArray
    extended_until: DayArray


def store_keeps_shelf_life(store: str | StoreClimate) -> bool:
    """Say whether a store stays cool enough for the shelf periods to hold.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    bool
        False where any row reaches 25 °C.

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid for the temperature alone; darkness, packing and ozone are for the keeper to judge.

    References
    ----------
    .. [1] ISO 2230:2002, 6.2.1.
    """
    climate = as_climate(store)
    return bool(np.all(climate.temperature_c[climate.weight_days > 0.0] < STORE_LIMIT_C))


def shelf_group(polymer: str) -> ShelfGroup:
    """Find the shelf group of a polymer.

    Parameters
    ----------
    polymer : str
        ISO 1629 symbol [no unit].

    Returns
    -------
    ShelfGroup
        The group with its periods [years].

    Raises
    ------
    ValueError
        If the standard lists no period for the polymer.

    References
    ----------
    .. [1] ISO 2230:2002, table of shelf periods.
    """
    for group in SHELF_GROUPS:
        if polymer in group.polymers:
            return group
    known = ", ".join(symbol for group in SHELF_GROUPS for symbol in group.polymers)
    raise ValueError(f"polymer {polymer!r} has no shelf period; use one of {known}")


def quarter_end(cure_day: ArrayLike) -> DayArray:
    """Give the last day of the quarter in which a part was cured.

    Parameters
    ----------
    cure_day : array_like of int
        Any day of the quarter, days since 1970-01-01 [days].

    Returns
    -------
    ndarray of int
        Days since 1970-01-01 [days].

    Notes
    -----
    Valid in the Gregorian calendar.

    References
    ----------
    .. [1] ISO 2230:2002, identification by quarter; counted from its end as the trade does.
    """
    day = np.asarray(cure_day, dtype=np.int64)
    known = (day != NO_DAY) & (day != NEVER)
    month = np.where(known, day, 0).astype("datetime64[D]").astype("datetime64[M]")
    quarter = month.astype(np.int64) // 3
    next_quarter = ((quarter + 1) * 3).astype("datetime64[M]").astype("datetime64[D]")
    return np.where(known, next_quarter.astype(np.int64) - 1, day)


def quarter_label(cure_day: int) -> str:
    """Write a quarter of cure as the standard does.

    Parameters
    ----------
    cure_day : int
        Any day of the quarter, days since 1970-01-01 [days].

    Returns
    -------
    str
        Quarter and the year's last two digits, such as ``3/94``.

    Notes
    -----
    Valid in the Gregorian calendar; the label hides the century.

    References
    ----------
    .. [1] ISO 2230:2002: July to September 1994 is 3/94.
    """
    months = int(np.datetime64(int(cure_day), "D").astype("datetime64[M]").astype(np.int64))
    year, month = divmod(months, 12)
    return f"{month // 3 + 1}/{(1970 + year) % 100:02d}"


def shelf_limits(cure_day: ArrayLike, polymer: str) -> ShelfLimits:
    """Give the days until which an unfitted part may lie on the shelf.

    Parameters
    ----------
    cure_day : array_like of int
        Any day of the quarter of cure, days since 1970-01-01 [days].
    polymer : str
        ISO 1629 symbol.

    Returns
    -------
    ShelfLimits
        Last days of both periods [days]; the second needs the inspection that the standard asks.

    Raises
    ------
    ValueError
        If the standard lists no period for the polymer.

    Notes
    -----
    Valid for parts not yet fitted, kept packed in a store below 25 °C. It is not the service life
    of a fitted part, and a maker's shorter period goes before it.

    References
    ----------
    .. [1] ISO 2230:2002, table of shelf periods.
    """
    group = shelf_group(polymer)
    # The last day of a quarter has the same number in every year, so years don't move it.
    end = quarter_end(cure_day)
    months = 12 * group.initial_years
    return ShelfLimits(
        add_months(end, months), add_months(end, months + 12 * group.extension_years)
    )
