"""Tyres: limits of age counted from manufacture, and flat spots from standing.

The age limits are advice of the tyre trade. Some laws bind heavier vehicles to a limit of their
own; the local law and the tyre maker's limit go before these.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing import rubber
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.estimate import BoolArray, Estimate, as_floats, banded, first_reason
from maintenance.engine.ageing.factors import LayUpFactor, Step
from maintenance.engine.days import NEVER, NO_DAY, DayArray, add_months

MECHANISM = "tyre"
FIT_BEFORE_YEARS = 6  # [years] no unused tyre over six years into service: BRMA, June 2001
REPLACE_AT_YEARS = 10  # [years] every tyre replaced at ten: BRMA, June 2001
FLAT_SPOT_DAYS = (30, 45)  # [days] flat spots after 30 to 45 days on one spot: trade advice
TREAD_POLYMER = "SBR"

LOOK_FOR = (
    "cracks in the sidewall and at the foot of the tread, bulges, cuts",
    "flat spots: a thump that does not go after some miles on the road means renewal",
    "pressure, and the valve's rubber",
)


@dataclass(frozen=True, eq=False)
class TyreAge:
    """Days that bound a tyre's life, days since 1970-01-01 [days].

    Attributes
    ----------
    fit_before, replace_on : ndarray of int
        The sixth and the tenth anniversary of the week of manufacture.
    """

    fit_before: DayArray
    replace_on: DayArray


def age_limits(made_day: ArrayLike) -> TyreAge:
    """Give the days by which a tyre is to be fitted and replaced.

    Parameters
    ----------
    made_day : array_like of int
        First day of the week of manufacture, days since 1970-01-01 [days].

    Returns
    -------
    TyreAge
        Sixth and tenth anniversary [days]; 29 February becomes 28 February.

    Notes
    -----
    Valid for car tyres. An age limit never replaces looking at the tyre.

    References
    ----------
    .. [1] British Rubber Manufacturers' Association, advice of June 2001.
    """
    return TyreAge(
        add_months(made_day, 12 * FIT_BEFORE_YEARS), add_months(made_day, 12 * REPLACE_AT_YEARS)
    )


def too_old_to_fit(made_day: ArrayLike, fitted_day: ArrayLike) -> BoolArray:
    """Say whether a tyre was past its shelf age when it was first fitted.

    Parameters
    ----------
    made_day, fitted_day : array_like of int
        Manufacture and first fitting, days since 1970-01-01 [days].

    Returns
    -------
    ndarray of bool
        True from the day after the sixth anniversary.

    Notes
    -----
    Valid for car tyres that were not used before.

    References
    ----------
    .. [1] British Rubber Manufacturers' Association, advice of June 2001.
    """
    fitted = np.asarray(fitted_day, dtype=np.int64)
    return np.asarray(fitted > add_months(made_day, 12 * FIT_BEFORE_YEARS), dtype=np.bool_)


def flat_spot_day(stood_since: ArrayLike, *, carries_load: bool = True) -> Estimate:
    """Estimate when a loaded tyre takes a set from standing on one spot.

    Parameters
    ----------
    stood_since : array_like of int
        Day on which the car was last moved, days since 1970-01-01 [days].
    carries_load : bool
        False where the car stands on supports and the wheels hang free.

    Returns
    -------
    Estimate
        Days since 1970-01-01 [days]; `low` is the day to have moved the car by.

    Notes
    -----
    Valid for road tyres at their ordinary pressure; cold and low pressure bring it forward, and
    over-inflation delays it by an amount for which there is no figure.

    References
    ----------
    .. [1] Flat spots after 30 to 45 days: trade advice.
    """
    day = np.asarray(stood_since, dtype=np.int64)
    (since,) = as_floats(day)
    first, last = FLAT_SPOT_DAYS
    reason = first_reason(
        (np.full(since.shape, not carries_load), "the tyre carries no load"),
        ((day == NO_DAY) | (day == NEVER), "the day on which the car was last moved is not known"),
    )
    return banded(since + first, since + (first + last) / 2, since + last, "days", reason)


def lay_up_factor(store: str | StoreClimate) -> LayUpFactor:
    """Give what a day in the store counts for a tyre.

    Parameters
    ----------
    store : str or StoreClimate
        Storage grade, or a climate in °C and %RH.

    Returns
    -------
    LayUpFactor
        That of its rubber, ozone and sunlight outdoors included [1].

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid as `rubber.lay_up_factor`.

    References
    ----------
    .. [1] As `rubber.lay_up_factor` for SBR; SBR as the usual tread rubber: common practice.
    """
    factor = rubber.lay_up_factor(store, TREAD_POLYMER)
    taken = Step(f"a tyre ages as its rubber, {TREAD_POLYMER}", 1.0, "1", "common practice")
    return LayUpFactor(MECHANISM, factor.store, factor.hundredths, (taken, *factor.steps))
