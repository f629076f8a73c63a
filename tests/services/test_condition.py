import datetime
import math

import pytest

from tests.factories import (
    EntryFactory,
    LayUpFactory,
    ServiceEventFactory,
    VehicleFactory,
)
from tests.services.parts import A_YEAR_AGO, TODAY, estimates, fitted, measured, specified

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    return VehicleFactory(inspection_regime="", nominal_voltage=12)


def test_fluid_of_a_year_in_ordinary_air_holds_two_per_cent(car):
    fitted(car, "brake-fluid")
    assert estimates(car, "brake-fluid")["water_content"]["central"] == pytest.approx(2.0, abs=0.01)


def test_a_damp_winter_puts_more_water_in(car):
    fitted(car, "brake-fluid")
    before = estimates(car, "brake-fluid")["water_content"]["central"]
    LayUpFactory(vehicle=car, storage="damp")
    assert estimates(car, "brake-fluid")["water_content"]["central"] > before + 0.3


def test_the_boiling_point_lies_between_those_of_the_grade_dry_and_wet(car):
    specified(car, "Brake fluid grade", "DOT 4")
    fitted(car, "brake-fluid")
    boils = estimates(car, "brake-fluid")["boiling_point"]
    assert 155 < boils["low"] < boils["central"] < boils["high"] < 230


def test_without_a_grade_the_boiling_point_says_what_is_missing(car):
    fitted(car, "brake-fluid")
    reason = estimates(car, "brake-fluid")["boiling_point"]["reason"]
    assert "'brake fluid grade', such as DOT 4" in reason


def test_a_measured_water_content_starts_the_curve_anew(car):
    component = fitted(car, "brake-fluid", on=datetime.date(2020, 1, 1))
    measured(component, "water_content", 1.2, "%", TODAY)
    assert estimates(car, "brake-fluid")["water_content"]["central"] == 1.2


def test_a_measured_boiling_point_gives_itself_back(car):
    specified(car, "brake fluid grade", "dot4")
    component = fitted(car, "brake-fluid", on=datetime.date(2020, 1, 1))
    measured(component, "boiling_point", 180, "°C", TODAY)
    assert estimates(car, "brake-fluid")["boiling_point"]["central"] == 180


def test_silicone_fluid_follows_no_curve_and_is_inspected_all_the_same(car):
    specified(car, "brake fluid grade", "DOT 5")
    fitted(car, "silicone-brake-fluid")
    assert "inspect it" in estimates(car, "silicone-brake-fluid")["water_content"]["reason"]


def test_a_class_of_iso_4925_is_read_as_a_grade(car):
    specified(car, "brake fluid grade", "ISO 4925 Class 6")
    fitted(car, "brake-fluid", on=TODAY)
    assert estimates(car, "brake-fluid")["boiling_point"]["central"] == 250


def test_dot_5_1_is_not_taken_for_dot_5(car):
    specified(car, "brake fluid grade", "DOT 5.1")
    fitted(car, "brake-fluid")
    assert estimates(car, "brake-fluid")["boiling_point"]["central"] > 200


def test_a_top_up_of_another_base_is_warned_of(car):
    specified(car, "brake fluid grade", "DOT 4")
    component = fitted(car, "brake-fluid")
    event = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 1, 1))
    EntryFactory(event=event, component=component, action="top_up", note="DOT 5 from the shelf")
    (warning,) = estimates(car, "brake-fluid")["boiling_point"]["warnings"]
    assert warning.startswith("2026-01-01: DOT 5 (silicone) was added to DOT 4 (glycol)")


def test_a_top_up_of_the_same_grade_is_not(car):
    specified(car, "brake fluid grade", "DOT 4")
    component = fitted(car, "brake-fluid", part_number="DOT 4 1L")
    event = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 1, 1))
    EntryFactory(event=event, component=component, action="top_up", part_number="dot-4")
    assert estimates(car, "brake-fluid")["boiling_point"]["warnings"] == []


def laid_up_with_battery(car, volts, storage="damp", **lay_up):
    LayUpFactory(
        vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None, storage=storage, **lay_up
    )
    component = fitted(car, "battery")
    measured(component, "rest_voltage", volts, "V", datetime.date(2026, 5, 2))


def test_a_battery_at_12_45_volts_is_three_quarters_charged(car):
    component = fitted(car, "battery")
    measured(component, "rest_voltage", 12.45, "V", TODAY)
    assert estimates(car, "battery")["charge_when_measured"]["central"] == 75


def test_six_volts_are_read_by_half_the_table(car):
    car.nominal_voltage = 6
    component = fitted(car, "battery")
    measured(component, "rest_voltage", 6.225, "V", TODAY)
    assert estimates(car, "battery")["charge_when_measured"]["central"] == 75


def test_a_full_battery_on_the_shelf_is_to_be_recharged_by_a_day(car):
    laid_up_with_battery(car, 12.8)
    found = estimates(car, "battery")
    # 1.265 less 1.225 at 0.0003 to 0.0004 a day in a cool store: about four months.
    days = datetime.date.fromisoformat(found["recharge_by"]["central"]) - datetime.date(2026, 5, 2)
    assert 90 <= days.days <= 133
    assert found["recharge_by"]["low"] < found["recharge_by"]["central"]


def test_a_battery_left_low_for_a_month_is_feared_to_sulphate(car):
    laid_up_with_battery(car, 12.1)
    (warning,) = estimates(car, "battery")["charge"]["warnings"]
    assert "sulphate" in warning


def test_a_battery_on_a_maintainer_has_no_curve(car):
    laid_up_with_battery(car, 12.6, preparations=["battery-maintainer"])
    assert "maintainer" in estimates(car, "battery")["charge"]["reason"]


def test_a_battery_in_use_since_has_no_estimate_of_today(car):
    component = fitted(car, "battery")
    measured(component, "rest_voltage", 12.6, "V", datetime.date(2026, 5, 2))
    assert "in use since" in estimates(car, "battery")["charge"]["reason"]


def test_a_battery_of_unknown_voltage_is_not_read(car):
    car.nominal_voltage = None
    component = fitted(car, "battery")
    measured(component, "rest_voltage", 12.6, "V", TODAY)
    assert "6 or 12 V" in estimates(car, "battery")["charge_when_measured"]["reason"]


def test_steel_in_a_damp_store_loses_by_the_power_law(car):
    LayUpFactory(vehicle=car, from_on=A_YEAR_AGO, to_on=None, storage="damp")
    fitted(car, "coil-spring", on=datetime.date(2022, 6, 1))
    loss = estimates(car, "coil-spring")["steel_loss"]
    # C3 takes 25 to 50 µm in the first year; four years by t^0.523.
    assert loss["central"] == pytest.approx(37.5 * 4**0.523, abs=1)
    assert loss["low"] < loss["central"] < loss["high"]


def test_a_tyre_tells_its_last_day_from_its_date_code(car):
    fitted(car, "tyre", manufactured_on=datetime.date(2019, 3, 3))
    tyre = estimates(car, "tyre")["replace_on"]
    assert (tyre["central"], len(tyre["warnings"])) == ("2029-03-03", 1)


def test_a_loaded_tyre_takes_a_flat_spot_after_thirty_days(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None)
    fitted(car, "tyre")
    assert estimates(car, "tyre")["flat_spots_from"]["low"] == "2026-05-31"


def test_a_tyre_off_the_ground_takes_none(car):
    LayUpFactory(
        vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None, preparations=["off-the-ground"]
    )
    fitted(car, "tyre")
    assert "carries no load" in estimates(car, "tyre")["flat_spots_from"]["reason"]


def test_a_hose_in_the_open_ages_faster_than_the_calendar(car):
    LayUpFactory(vehicle=car, from_on=A_YEAR_AGO, to_on=None, storage="outdoors")
    fitted(car, "brake-hose")
    age = estimates(car, "brake-hose")["equivalent_age"]
    assert age["central"] == math.ceil(1.5 * 365)


def test_a_hose_cured_in_the_third_quarter_of_1994_has_its_shelf_life_by_the_standard(car):
    specified(car, "brake hose rubber", "NBR")
    fitted(
        car, "brake-hose", on=datetime.date(2003, 1, 1), manufactured_on=datetime.date(1994, 7, 1)
    )
    shelf = estimates(car, "brake-hose")["shelf_life_until"]
    assert (shelf["low"], shelf["high"]) == ("2001-09-30", "2004-09-30")
    assert "after its initial shelf life" in shelf["warnings"][0]


def test_a_kind_without_a_known_mechanism_has_no_estimates(car):
    fitted(car, "spark-plugs")
    assert estimates(car, "spark-plugs") == {}
