"""What standing does to parts: counted over touching lay-ups, and told with what to look for."""

import datetime
import json

import pytest

from maintenance.engine.ageing.preparations import PREPARATIONS
from maintenance.engine.ageing.steel_loss import inspection_months
from maintenance.models import LayUp
from maintenance.services.store_climates import import_climate, keep_in_store
from maintenance.services.working import workings_of_component
from tests.factories import EntryFactory, LayUpFactory, ServiceEventFactory, VehicleFactory
from tests.services.parts import A_YEAR_AGO, TODAY, estimates, fitted, measured, specified

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    return VehicleFactory(inspection_regime="", nominal_voltage=12)


@pytest.fixture
def stored(car):
    """A car in store since 1 November 2023, split into two touching lay-ups."""
    LayUpFactory(
        vehicle=car, from_on=datetime.date(2023, 11, 1), to_on=datetime.date(2026, 4, 1),
        storage="damp",
    )  # fmt: skip
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 4, 1), to_on=None, storage="damp")
    return car


def test_a_battery_full_two_years_ago_and_never_charged_since_is_feared_to_sulphate(stored):
    component = fitted(stored, "battery", on=datetime.date(2023, 10, 1))
    measured(component, "rest_voltage", 12.65, "V", datetime.date(2024, 2, 1))
    found = estimates(stored, "battery")
    assert found["charge"]["central"] == 0
    assert found["recharge_by"]["central"] < "2024-07-01"
    assert "sulphate" in found["charge"]["warnings"][0]


def test_a_battery_that_kept_above_three_quarters_until_last_week_is_not_warned_of_yet(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 1, 1), to_on=None, storage="dry")
    component = fitted(car, "battery")
    # 1.265 less 1.225 at 0.0003 to 0.0004 a day: some 105 days, to the middle of May.
    measured(component, "rest_voltage", 12.8, "V", datetime.date(2026, 2, 1))
    charge = estimates(car, "battery")["charge"]
    assert charge["central"] < 75 and charge["warnings"] == []


def test_touching_lay_ups_are_one_for_the_battery(stored):
    component = fitted(stored, "battery", on=datetime.date(2023, 10, 1))
    measured(component, "rest_voltage", 12.65, "V", datetime.date(2026, 3, 1))
    # Ninety-two days at 0.0003 to 0.0004 leave 75 to 85 %.
    assert 70 < estimates(stored, "battery")["charge"]["central"] < 90


def test_touching_lay_ups_are_one_for_the_flat_spots(stored):
    fitted(stored, "tyre", on=datetime.date(2020, 1, 1))
    assert estimates(stored, "tyre")["flat_spots_from"]["low"] == "2023-12-01"


def test_a_tyre_renewed_in_store_takes_its_flat_spot_from_then_on(stored):
    fitted(stored, "tyre", on=datetime.date(2026, 5, 1))
    assert estimates(stored, "tyre")["flat_spots_from"]["low"] == "2026-05-31"


def test_a_car_moved_a_quarter_turn_begins_its_flat_spots_anew(stored):
    component = fitted(stored, "tyre", on=datetime.date(2020, 1, 1))
    event = ServiceEventFactory(vehicle=stored, on=datetime.date(2026, 5, 2))
    EntryFactory(event=event, component=component, action="inspect")
    assert estimates(stored, "tyre")["flat_spots_from"]["low"] == "2026-06-01"


def test_years_on_the_shelf_count_one_each_wherever_the_car_stood(car):
    LayUpFactory(
        vehicle=car, from_on=datetime.date(2015, 1, 1), to_on=datetime.date(2025, 1, 1),
        storage="outdoors",
    )  # fmt: skip
    fitted(
        car, "brake-hose", on=datetime.date(2025, 1, 1), manufactured_on=datetime.date(2015, 1, 1)
    )
    # 3 653 days on the shelf, 516 in use since.
    assert estimates(car, "brake-hose")["equivalent_age"]["central"] == 3653 + 516


def test_the_age_of_a_hose_in_the_cold_has_a_band(car):
    LayUpFactory(vehicle=car, from_on=A_YEAR_AGO, to_on=None, storage="outdoors")
    fitted(car, "brake-hose")
    age = estimates(car, "brake-hose")["equivalent_age"]
    assert age["low"] < 365 < age["central"]


def old_damp_fluid(car, **entry):
    specified(car, "brake fluid grade", "DOT 4")
    LayUpFactory(vehicle=car, from_on=datetime.date(2000, 1, 1), to_on=None, storage="damp")
    return fitted(car, "brake-fluid", on=datetime.date(2000, 1, 1), **entry)


def test_the_wettest_fluid_is_told_by_how_little_it_boils_at_and_warned_of(car):
    old_damp_fluid(car)
    found = estimates(car, "brake-fluid")
    boils = found["boiling_point"]
    assert boils["low"] == boils["central"] == 113  # 100 + 130 × (55 ÷ 130)^(10 ÷ 3.7)
    assert "may boil below 113 °C" in boils["warnings"][0]
    assert "renew it" in boils["warnings"][1]
    json.dumps(found, allow_nan=False)


def test_more_water_than_the_curve_holds_asks_for_a_renewal(car):
    component = old_damp_fluid(car)
    measured(component, "water_content", 11, "%", TODAY)
    assert "renew the fluid" in estimates(car, "brake-fluid")["water_content"]["reason"]


def test_a_hot_store_drives_the_water_in_faster(car):
    fitted(car, "brake-fluid", on=datetime.date(2025, 9, 1))
    cool = in_measured_store(car, 15)
    hot = in_measured_store(car, 35)
    assert hot > cool + 0.3


def in_measured_store(car, celsius):
    """The water in the fluid of a car that stands in air of 60 %RH at a temperature."""
    start = datetime.date(2025, 10, 1)
    days = range((TODAY - start).days)
    rows = (f"{start + datetime.timedelta(days=day)},{celsius},60" for day in days)
    store, _ = import_climate(
        collection=car.collection, store="the barn", text="\n".join(["date,°C,%RH", *rows]),
        outdoors=False, today=TODAY,
    )  # fmt: skip
    keep_in_store(vehicle=car, store=store, from_on=start, to_on=None, today=TODAY)
    if not LayUp.objects.exists():
        LayUpFactory(vehicle=car, from_on=start, to_on=None, storage="dry")
    return estimates(car, "brake-fluid")["water_content"]["central"]


def test_linings_that_stood_half_a_year_say_what_to_look_for(stored):
    fitted(stored, "brake-pads", on=datetime.date(2023, 1, 1))
    stood = estimates(stored, "brake-pads")["standing_time"]
    assert any("corner that lifts" in says for says in stood["look_for"])


def test_a_caliper_moved_to_its_stops_last_month_need_not_be_freed_yet(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None, storage="dry")
    fitted(car, "brake-caliper")
    assert estimates(car, "brake-caliper")["standing_time"]["look_for"] == []


def test_a_damp_store_frees_the_caliper_sooner(car):
    # Three months and a half count double in the wet: seven, and six are enough.
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 2, 15), to_on=None, storage="damp")
    fitted(car, "brake-caliper")
    stood = estimates(car, "brake-caliper")["standing_time"]
    assert stood["central"] == 3.5 and "piston moves back" in stood["look_for"][0]


def test_oil_that_stood_for_a_year_is_renewed_before_use(stored):
    fitted(stored, "engine-oil", on=datetime.date(2023, 1, 1))
    stood = estimates(stored, "engine-oil")["standing_time"]
    assert "renew it before use" in stood["warnings"][0] and len(stood["look_for"]) == 2


def test_weak_coolant_may_freeze_in_an_unheated_store(stored):
    component = fitted(stored, "coolant", on=datetime.date(2023, 1, 1))
    measured(component, "freezing_point", -4, "°C", datetime.date(2023, 12, 1))
    assert "may freeze" in estimates(stored, "coolant")["freezing_point"]["warnings"][0]


def test_petrol_keeps_three_to_six_months_from_the_day_the_car_was_put_away(car):
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 5, 1), to_on=None, storage="dry")
    fitted(car, "fuel", on=datetime.date(2026, 4, 1))
    petrol = estimates(car, "fuel")["petrol_keeps_until"]
    assert (petrol["low"], petrol["high"]) == ("2026-07-31", "2026-10-30")  # 91 and 182 days
    assert "ethanol-free" in petrol["warnings"][0]


def test_petrol_of_a_car_in_use_is_filled_again_and_again(car):
    fitted(car, "fuel")
    assert "in use" in estimates(car, "fuel")["petrol_keeps_until"]["reason"]


def test_petrol_whose_renewal_is_overdue_is_not_taken_to_have_been_filled_since(car):
    LayUpFactory(
        vehicle=car,
        from_on=datetime.date(2025, 1, 1),
        to_on=datetime.date(2026, 1, 1),
        storage="dry",
    )
    fuel = fitted(car, "fuel", on=datetime.date(2024, 12, 1))
    assert "its renewal is due" in estimates(car, "fuel")["petrol_keeps_until"]["reason"]
    renewed = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 1, 1))
    EntryFactory(event=renewed, component=fuel, action="renew")
    assert "in use" in estimates(car, "fuel")["petrol_keeps_until"]["reason"]


def test_the_wall_of_a_pipe_tells_how_soon_to_look_again(stored):
    specified(stored, "brake pipe wall thickness", "0.7 mm")
    fitted(stored, "brake-pipe", on=datetime.date(2023, 11, 1))
    look = estimates(stored, "brake-pipe")["look_again_within"]
    years = (TODAY - datetime.date(2023, 11, 1)).days / 365.25
    assert look["central"] == float(inspection_months(0.7, years, "C3").central)


def test_a_pipe_of_unknown_wall_says_what_to_measure(stored):
    fitted(stored, "brake-pipe", on=datetime.date(2023, 11, 1))
    reason = estimates(stored, "brake-pipe")["look_again_within"]["reason"]
    assert "measure it at its thinnest" in reason and "'brake pipe wall thickness'" in reason


def test_the_first_use_criterion_says_what_to_look_for(stored):
    fitted(stored, "brake-caliper", on=datetime.date(2023, 1, 1))
    workings = workings_of_component(vehicle=stored, kind="brake-caliper", position=None, on=TODAY)
    lines = [
        line["says"]
        for working in workings
        for criterion in working["criteria"]
        if criterion["criterion"] == "first_use"
        for line in criterion["lines"]
    ]
    assert any(says.startswith("Before use: each piston") for says in lines)


@pytest.mark.parametrize(
    ("slug", "effect"),
    [(p.slug, effect) for p in PREPARATIONS.values() for effect in p.estimates],
    ids=lambda value: value if isinstance(value, str) else value.quantity,
)
def test_every_effect_on_an_estimate_alters_it(slug, effect):
    bare, prepared = (estimate_after(effect, done) for done in ([], [slug]))
    assert prepared != bare


def estimate_after(effect, preparations):
    """An estimate of a part of a car put away in March, measured in April if it can be."""
    car = VehicleFactory(inspection_regime="", nominal_voltage=12)
    away = datetime.date(2026, 3, 1)
    LayUpFactory(vehicle=car, from_on=away, to_on=None, storage="damp", preparations=preparations)
    component = fitted(car, effect.kind)
    if effect.kind == "battery":
        measured(component, "rest_voltage", 12.6, "V", datetime.date(2026, 4, 1))
    if effect.kind == "coolant":
        measured(component, "freezing_point", -4, "°C", datetime.date(2026, 2, 1))
    return estimates(car, effect.kind)[effect.quantity]


def test_a_week_of_making_is_told_as_the_first_day_that_it_can_mean(car):
    made = datetime.date(2020, 8, 3)
    fitted(car, "tyre", manufactured="2020-W32", manufactured_on=made)
    found = workings_of_component(vehicle=car, kind="tyre", position=None, on=TODAY)
    said = "renewed on 2025-06-01, made on 2020-08-03 at the earliest and ageing since"
    assert any(said in working["sentence"] for working in found)
