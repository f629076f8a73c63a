"""A lead-acid battery against TM 9-6140-200-14, TM 5-3820-256-24-4 and the trade's table."""

import pytest

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing.battery import charge_to_gravity, rest_voltage_to_charge
from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.self_discharge import (
    RECHARGE_GRAVITY,
    recharge_through,
    self_discharge_rate,
)


def celsius(fahrenheit):
    return (fahrenheit - 32) / 1.8


# TM 9-6140-200-14, 4-8c, primary text read: loss of specific gravity a day, first ten days.
@pytest.mark.parametrize(("fahrenheit", "rate"), [(100, 0.0025), (80, 0.001), (50, 0.0003)])
def test_a_full_battery_loses_the_manuals_gravity_a_day(fahrenheit, rate):
    assert self_discharge_rate(celsius(fahrenheit)) == pytest.approx(rate)


# Trade table at 26.7 °C, at rest: volts, charge, specific gravity.
TABLE = [
    (12.65, 100, 1.265),
    (12.45, 75, 1.225),
    (12.24, 50, 1.190),
    (12.06, 25, 1.155),
    (11.89, 0, 1.120),
]


@pytest.mark.parametrize(("volts", "charge", "gravity"), TABLE)
def test_a_rest_voltage_has_its_published_charge(volts, charge, gravity):
    assert rest_voltage_to_charge(volts).central == pytest.approx(charge, abs=1e-9)


@pytest.mark.parametrize(("volts", "charge", "gravity"), TABLE)
def test_a_charge_has_its_published_gravity(volts, charge, gravity):
    assert charge_to_gravity(charge) == pytest.approx(gravity)


@pytest.mark.parametrize(("volts", "nominal"), [(12.30, 12), (6.15, 6)])
def test_a_voltage_between_two_rows_is_interpolated(volts, nominal):
    assert rest_voltage_to_charge(volts, celsius(80), nominal).central == pytest.approx(
        57.14, abs=5e-3
    )


# The table's correction: 0.024 V for 10 °F. 12.50 V at 90 °F counts as 12.524 V at 80 °F.
@pytest.mark.parametrize(("volts", "fahrenheit"), [(12.50, 90), (12.572, 60)])
def test_the_temperature_correction_is_24_millivolts_for_ten_fahrenheit(volts, fahrenheit):
    charge = rest_voltage_to_charge(volts, celsius(fahrenheit)).central

    assert charge == pytest.approx(rest_voltage_to_charge(12.524).central)


# TM 5-3820-256-24-4, primary text read: check every 30 days, charge at 1.225.
def test_a_battery_is_checked_monthly_and_charged_at_the_manuals_gravity():
    [care] = [rule for rule in catalogue().rules_for("battery") if rule.applies == "laid_up"]
    assert (care.months, RECHARGE_GRAVITY) == (1, 1.225)


def test_at_80_fahrenheit_a_full_battery_lasts_forty_days():  # (1.265 − 1.225) ÷ 0.001 a day
    shelf = measured_climate([0], [celsius(80)], [50])

    assert recharge_through([(0.0, shelf)], 1.265).central == 40
