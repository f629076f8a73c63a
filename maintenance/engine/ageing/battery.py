"""Lead-acid battery: its charge from the voltage at rest, and the fear of sulphate.

A battery left below three quarters of its charge grows sulphate that charging does not dissolve.
Charging makes an explosive gas, the acid burns, and a short circuit welds: the figures here say
when to charge, the charger's and the battery maker's handbooks say how.
"""

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.estimate import (
    BoolArray,
    Estimate,
    FloatArray,
    as_floats,
    banded,
    first_reason,
)

# 12 V, at rest, at 26.7 °C: trade table of state of charge.
REST_VOLTAGE = np.array([11.89, 12.06, 12.24, 12.45, 12.65])  # [V]
CHARGE = np.array([0.0, 25.0, 50.0, 75.0, 100.0])  # [%]
SPECIFIC_GRAVITY = np.array([1.120, 1.155, 1.190, 1.225, 1.265])  # [1]
TABLE_TEMPERATURE_C = 80.0 / 1.8 - 32.0 / 1.8  # [°C] 80 °F
VOLTS_PER_KELVIN = 0.024 * 1.8 / 10.0  # [V/K] 0.024 V for 10 °F at 12 V: the same table
READABLE_VOLTAGE = (10.5, 13.2)  # [V] below: a dead cell; above: not at rest; common practice
READABLE_TEMPERATURE_C = (-17.8, 71.1)  # [°C] the table's 0 to 160 °F
SULPHATION_CHARGE = 75.0  # [%] specific gravity 1.225
SULPHATION_DAYS = 30  # [days] below it before a warning, common practice

SULPHATION_WARNING = (
    "this battery has stood below 75 % of its charge: sulphate hardens on the plates and takes "
    "capacity for good; charge it now as its maker says, then test it under load"
)


def rest_voltage_to_charge(
    voltage: ArrayLike,
    temperature_c: ArrayLike = TABLE_TEMPERATURE_C,
    nominal_voltage: ArrayLike = 12,
) -> Estimate:
    """Read the state of charge off the voltage at rest.

    Parameters
    ----------
    voltage : array_like
        Open-circuit voltage after at least eight hours without load or charger [V].
    temperature_c : array_like
        Temperature of the battery [°C].
    nominal_voltage : array_like
        6 or 12 [V].

    Returns
    -------
    Estimate
        State of charge [%], 0 and 100 at the ends of the table.

    Notes
    -----
    Valid for flooded lead-acid, 10.5 to 13.2 V (half for 6 V) and −17.8 to 71.1 °C. The trade's
    tables subtract 0.024 V for each 10 °F below 80 °F; another publication adds in the cold. The
    central figure follows the tables, the band spans both.

    References
    ----------
    .. [1] Trade table of rest voltage and its temperature compensation at 80 °F.
    """
    volts, temperature, nominal = as_floats(voltage, temperature_c, nominal_voltage)
    as_twelve = volts * 12.0 / np.where(nominal > 0.0, nominal, np.nan)
    correction = VOLTS_PER_KELVIN * (temperature - TABLE_TEMPERATURE_C)
    readings = [
        np.interp(as_twelve + sign * correction, REST_VOLTAGE, CHARGE) for sign in (1.0, -1.0)
    ]
    low_v, high_v = READABLE_VOLTAGE
    low_c, high_c = READABLE_TEMPERATURE_C
    reason = first_reason(
        ((nominal != 6.0) & (nominal != 12.0), "the nominal voltage is neither 6 nor 12 V"),
        (~np.isfinite(as_twelve), "no rest voltage was measured"),
        (as_twelve < low_v, "so low a voltage means a dead cell or another nominal voltage"),
        (as_twelve > high_v, "so high a voltage is not one at rest; wait eight hours"),
        (
            ~((temperature >= low_c) & (temperature <= high_c)),
            "the temperature correction holds for −17.8 to 71.1 °C only",
        ),
    )
    return banded(np.minimum(*readings), readings[0], np.maximum(*readings), "%", reason)


def charge_to_gravity(charge: ArrayLike) -> FloatArray:
    """Give the specific gravity that belongs to a state of charge.

    Parameters
    ----------
    charge : array_like
        State of charge [%].

    Returns
    -------
    ndarray
        Specific gravity at 26.7 °C [1]; nan outside 0 to 100 %.

    Notes
    -----
    Valid for flooded lead-acid with 1.265 when full.

    References
    ----------
    .. [1] Trade table of state of charge at 80 °F.
    """
    (state,) = as_floats(charge)
    inside = (state >= 0.0) & (state <= 100.0)
    return np.where(inside, np.interp(state, CHARGE, SPECIFIC_GRAVITY), np.nan)


def gravity_to_charge(gravity: ArrayLike) -> FloatArray:
    """Give the state of charge that belongs to a specific gravity.

    Parameters
    ----------
    gravity : array_like
        Specific gravity at 26.7 °C [1].

    Returns
    -------
    ndarray
        State of charge [%], 0 and 100 at the ends; nan outside 1.0 to 1.35.

    Notes
    -----
    Valid for flooded lead-acid with 1.265 when full.

    References
    ----------
    .. [1] Trade table of state of charge at 80 °F.
    """
    (density,) = as_floats(gravity)
    inside = (density >= 1.0) & (density <= 1.35)
    return np.where(inside, np.interp(density, SPECIFIC_GRAVITY, CHARGE), np.nan)


def sulphated(charge: ArrayLike, days_below: ArrayLike) -> BoolArray:
    """Say whether a battery has stood so low for so long that sulphate is to be feared.

    Parameters
    ----------
    charge : array_like
        State of charge [%].
    days_below : array_like
        Days it has stood below 75 % [days].

    Returns
    -------
    ndarray of bool
        True where `SULPHATION_WARNING` applies; a charge that is not known warns of nothing.

    Notes
    -----
    Valid for lead-acid batteries. An empty battery also freezes, and its case may burst.

    References
    ----------
    .. [1] 75 % is 1.225: TM 5-3820-256-24-4; thirty days: common practice.
    """
    state, days = as_floats(charge, days_below)
    return np.asarray((state < SULPHATION_CHARGE) & (days >= SULPHATION_DAYS), dtype=np.bool_)
