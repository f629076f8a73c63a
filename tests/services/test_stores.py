import datetime
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.engine.ageing import MECHANISMS
from maintenance.engine.ageing.climate_record import measured_climate, month_by_month
from maintenance.models import StoreClimateRecord
from maintenance.queries.due_answers import Answers
from maintenance.services.checks.lay_ups import lay_up_problems
from maintenance.services.drafts import LayUpDraft
from maintenance.services.refusals import Refused
from maintenance.services.store_climates import import_climate, keep_in_store
from maintenance.services.working import workings_of_component
from tests.factories import (
    CollectionFactory,
    ComponentFactory,
    EntryFactory,
    IntervalRuleFactory,
    LayUpFactory,
    ServiceEventFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2026, 6, 1)
FROM, TO = datetime.date(2025, 10, 1), datetime.date(2026, 4, 1)


@pytest.fixture
def car():
    return VehicleFactory(inspection_regime="")


def record(celsius, humidity, days=200, start=FROM):
    rows = (f"{start + datetime.timedelta(days=day)},{celsius},{humidity}" for day in range(days))
    return "\n".join(["date,°C,%RH", *rows])


def measured(car, celsius, humidity, **wanted):
    store, _ = import_climate(
        collection=car.collection, store="the barn", text=record(celsius, humidity, **wanted),
        outdoors=False, today=TODAY,
    )  # fmt: skip
    keep_in_store(vehicle=car, store=store, from_on=FROM, to_on=None, today=TODAY)


def renewed(car, kind, on=datetime.date(2025, 9, 1)):
    component = ComponentFactory(vehicle=car, kind=kind)
    EntryFactory(event=ServiceEventFactory(vehicle=car, on=on), component=component)
    return component


def laid_up(car, storage="damp", **more):
    LayUpFactory(vehicle=car, from_on=FROM, to_on=TO, storage=storage, **more)


def due(car, kind, task="renew"):
    items = Answers([car], on=TODAY).items()
    return next(item.due_on for item in items if (item.kind, item.task) == (kind, task))


def factor_line(car, kind, task="renew", number=1):
    workings = workings_of_component(vehicle=car, kind=kind, position=None, on=TODAY)
    criterion = next(one for one in workings if one["task"] == task)["criteria"][0]
    return next(line for line in criterion["lines"] if line["name"] == f"factor_{number}")


def test_a_dry_record_takes_back_what_a_damp_grade_adds(car):
    laid_up(car)
    renewed(car, "brake-fluid")
    before = due(car, "brake-fluid")
    measured(car, 10, 55)
    assert (before, due(car, "brake-fluid")) == (
        datetime.date(2027, 6, 2),
        datetime.date(2027, 9, 1),
    )


def test_a_record_wetter_than_its_grade_brings_the_day_forward(car):
    laid_up(car, storage="dry")
    renewed(car, "brake-fluid")
    measured(car, 10, 90)
    assert due(car, "brake-fluid") == datetime.date(2027, 6, 2)


def test_the_working_names_the_record_beside_the_factor(car):
    laid_up(car, storage="dry")
    renewed(car, "brake-fluid")
    measured(car, 10, 90)
    line = factor_line(car, "brake-fluid")
    assert line["value"] == 1.5
    assert "measured in the barn" in line["source"]


def test_days_before_the_record_begins_keep_the_constants_of_the_grade(car):
    laid_up(car)
    renewed(car, "brake-fluid")
    measured(car, 10, 55, days=91, start=FROM + datetime.timedelta(days=91))
    assert (
        factor_line(car, "brake-fluid")["value"],
        factor_line(car, "brake-fluid", number=2)["value"],
    ) == (1.5, 1)


def by_halves(first, second, split):
    """A record of 730 days from 1 November 2024 at 15 °C, its humidity changing after `split`."""
    start = datetime.date(2024, 11, 1)
    rows = (
        f"{start + datetime.timedelta(days=day)},15,{first if day < split else second}"
        for day in range(730)
    )
    return "\n".join(["date,°C,%RH", *rows])


def stood_two_years(car, text, *, renewed_on, to_on=datetime.date(2026, 11, 1)):
    """The day the fluid of a car is due that stood two years in a store so measured."""
    today = datetime.date(2026, 11, 25)
    start = datetime.date(2024, 11, 1)
    store, _ = import_climate(
        collection=car.collection, store="the barn", text=text, outdoors=False, today=today
    )
    keep_in_store(vehicle=car, store=store, from_on=start, to_on=None, today=today)
    LayUpFactory(vehicle=car, from_on=start, to_on=to_on, storage="dry")
    renewed(car, "brake-fluid", on=renewed_on)
    items = Answers([car], on=today).items()
    return next(item for item in items if (item.kind, item.task) == ("brake-fluid", "renew"))


def test_a_dry_year_before_the_renewal_pays_for_no_damp_day_after_it(car):
    item = stood_two_years(car, by_halves(25, 95, 365), renewed_on=datetime.date(2025, 11, 1))
    # 730 days of limit; each of 365 days counts 95 ÷ 60, rounded up: 580.35. 150 more days in use.
    assert item.due_on == datetime.date(2027, 3, 31)
    assert "365 of the 515 days are spent in dry storage and count as 1.59 each" in item.sentence


def test_a_dry_half_after_a_damp_half_gives_nothing_back(car):
    item = stood_two_years(
        car, by_halves(95, 30, 182), renewed_on=datetime.date(2025, 11, 1) - _A_YEAR
    )
    # 182 × 1.59 = 289.38; 440.62 days of one more: 182 + 441 days after 1 November 2024.
    assert item.due_on == datetime.date(2024, 11, 1) + datetime.timedelta(days=182 + 441)


_A_YEAR = datetime.timedelta(days=365)


def test_a_car_that_still_stands_goes_on_as_the_latest_year_that_was_measured(car):
    item = stood_two_years(
        car, by_halves(25, 95, 365), renewed_on=datetime.date(2025, 11, 1), to_on=None
    )
    # 730 ÷ 1.59 = 459.1
    assert item.due_on == datetime.date(2025, 11, 1) + datetime.timedelta(days=460)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(1, 728), st.integers(0, 200))
def test_a_lay_up_told_in_two_parts_ages_the_fluid_alike(split, seed):
    humidity = np.random.default_rng(seed).uniform(20, 100, 730)
    record = measured_climate(np.arange(730), np.full(730, 15.0), humidity, name="the barn")
    parts = [month_by_month(record, *stay) for stay in ((0, split), (split, 730))]
    aged = [_aged(part) for part in (month_by_month(record, 0, 730), parts[0] + parts[1])]
    by_hand = np.maximum(humidity / 60, 1).sum()
    # Each month's factor is rounded up by less than a hundredth.
    assert by_hand <= aged[0] <= by_hand + 7.3
    assert abs(aged[0] - aged[1]) <= 0.31


def _aged(parts):
    return sum(
        (part.end - part.start) * float(MECHANISMS["moisture"](part.climate).value)
        for part in parts
    )


@pytest.mark.parametrize("celsius", [-40, 0, 20, 60])
@pytest.mark.parametrize("humidity", [0, 50, 100])
def test_no_climate_makes_a_laid_up_day_count_less_than_a_day(car, celsius, humidity):
    laid_up(car)
    for kind in ("brake-fluid", "tyre", "coil-spring", "battery", "engine-oil", "fuel", "fan-belt"):
        renewed(car, kind)
    measured(car, celsius, humidity)
    assert Answers([car], on=TODAY).history.batch.rules.factors[:, :5].min() >= 100


def test_a_maintainer_takes_back_what_warmth_takes_from_a_battery(car):
    laid_up(car, storage="heated", preparations=["battery-maintainer"])
    renewed(car, "battery")
    line = factor_line(car, "battery", "inspect")
    assert line["value"] == 1
    assert "gives back what self-discharge takes" in line["source"]


def test_a_maintainer_changes_nothing_for_the_oil(car):
    laid_up(car, preparations=["battery-maintainer"])
    renewed(car, "engine-oil")
    line = factor_line(car, "engine-oil")
    assert (line["value"], line["source"]) == (1.5, line["source"])
    assert "maintainer" not in line["source"]


def test_fresh_oil_halves_what_damp_adds_to_it(car):
    laid_up(car, preparations=["fresh-engine-oil"])
    renewed(car, "engine-oil")
    assert factor_line(car, "engine-oil")["value"] == 1.25


def test_a_rule_of_the_collections_own_keeps_the_factors_it_was_given(car):
    laid_up(car, storage="heated", preparations=["battery-maintainer"])
    renewed(car, "battery")
    IntervalRuleFactory(
        collection=car.collection, kind="battery", task="inspect", months=6,
        factor_heated=Decimal("1.4"),
    )  # fmt: skip
    measured(car, 10, 50)
    assert factor_line(car, "battery", "inspect")["value"] == 1.4


def test_a_lay_up_begun_before_the_car_was_kept_there_keeps_its_grade(car):
    laid_up(car)
    renewed(car, "brake-fluid")
    store, _ = import_climate(
        collection=car.collection, store="the barn", text=record(10, 55), outdoors=False,
        today=TODAY,
    )  # fmt: skip
    later = FROM + datetime.timedelta(days=1)
    keep_in_store(vehicle=car, store=store, from_on=later, to_on=None, today=TODAY)
    assert factor_line(car, "brake-fluid")["value"] == 1.5


def test_importing_the_same_record_twice_adds_nothing(car):
    given = {"collection": car.collection, "store": "the barn", "outdoors": False, "today": TODAY}
    assert import_climate(text=record(10, 55), **given)[1] == 200
    assert import_climate(text=record(10, 55), **given)[1] == 0
    assert StoreClimateRecord.objects.get().version == 1


def test_a_later_record_of_the_same_store_is_added_to_it(car):
    given = {"collection": car.collection, "store": "the barn", "outdoors": False, "today": TODAY}
    import_climate(text=record(10, 55, days=30), **given)
    import_climate(text=record(12, 60, days=30, start=datetime.date(2026, 3, 1)), **given)
    assert len(StoreClimateRecord.objects.get().days) == 60


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("date,°C\n2026-01-01,5", "row 1: has no column %RH"),
        ("date,°C,%RH\n2026-02-30,5,60", "row 2, date: '2026-02-30' is no date"),
        ("date,°C,%RH\n2026-06-02,5,60", "row 2, date: 2026-06-02 is after today"),
        ("date,°C,%RH\n2026-01-01,warm,60", "row 2, °C: 'warm' is no number"),
        ("date,°C,%RH\n2026-01-01,5,160", "row 2, %RH: 160 is outside 0 to 100"),
        ("date,°C,%RH\n2026-01-01,5", "row 2, %RH: is missing"),
        ("date,°C,%RH\n2026-01-01,5,60\n2026-02-01,5,60", "row 3, day: a gap of 31 days"),
        ("date,°C,%RH\n", "the record has no rows"),
    ],
)
def test_a_bad_row_is_refused_by_number_and_column_and_nothing_is_kept(car, text, says):
    with pytest.raises(Refused, match=r"(?s)") as refused:
        import_climate(
            collection=car.collection, store="the barn", text=text, outdoors=False, today=TODAY
        )
    assert says in str(refused.value)
    assert not StoreClimateRecord.objects.exists()


def test_a_record_with_semicolons_and_decimal_commas_is_read(car):
    text = "date;°C;%RH\n2026-01-01;5,5;60,2\n2026-01-02;5,0;61,0"
    store, added = import_climate(
        collection=car.collection, store="the barn", text=text, outdoors=False, today=TODAY
    )
    assert (added, store.temperature_c) == (2, [5.5, 5.0])


def test_a_store_of_another_club_is_refused(car):
    store, _ = import_climate(
        collection=CollectionFactory(), store="the barn", text=record(10, 55), outdoors=False,
        today=TODAY,
    )  # fmt: skip
    with pytest.raises(Refused, match="no such store"):
        keep_in_store(vehicle=car, store=store, from_on=FROM, to_on=None, today=TODAY)


def test_a_preparation_that_nobody_knows_is_refused_with_the_nearest_word(car):
    from maintenance.services.cars import car_of

    draft = LayUpDraft(from_on=FROM, storage="dry", preparations=("battery-maintained",))
    (problem,) = lay_up_problems(draft, car_of(car), TODAY)
    assert problem.pointer == "/preparations/0"
    assert "'battery-maintainer'" in problem.message
