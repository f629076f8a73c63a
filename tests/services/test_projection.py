import datetime
from decimal import Decimal

import pytest

from maintenance.models import DueItem, Entry, LayUp
from maintenance.services.drafts import Place
from maintenance.services.projection import project
from maintenance.services.refusals import Refused
from maintenance.services.what_if import PlanDraft, PlannedDistance, PlannedLayUp, PlannedWork
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    FindingFactory,
    InspectionFactory,
    IntervalRuleFactory,
    LayUpFactory,
    OdometerReadingFactory,
    ServiceEventFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


def date(text):
    return datetime.date.fromisoformat(text)


TODAY = date("2026-06-01")
RENEWED = date("2026-01-01")


@pytest.fixture
def car():
    """A car that covers 10 km a day."""
    car = VehicleFactory(inspection_regime="", odometer_digits=6)
    for on, value in ((date("2026-02-21"), 50_000), (TODAY, 51_000)):
        OdometerReadingFactory(vehicle=car, on=on, value=Decimal(value))
    return car


def fitted(car, kind="coolant", on=RENEWED, **limits):
    limits = {"months": None, "distance_km": None, "before_use_after_months": None} | limits
    IntervalRuleFactory(collection=car.collection, vehicle=car, kind=kind, task="renew", **limits)
    component = ComponentFactory(vehicle=car, kind=kind)
    EntryFactory(event=ServiceEventFactory(vehicle=car, on=on), component=component)
    return component


def renewal(car, kind="coolant", **plan):
    found = project(vehicle=car, plan=PlanDraft(**plan), on=TODAY)["items"]
    return next(item for item in found if (item["component"], item["task"]) == (kind, "renew"))


def days(item):
    return [one["due_on"] for one in item["projected"]]


def stay(start, end, storage="damp"):
    return PlannedLayUp(from_on=date(start), to_on=date(end), storage=storage)


def work(on, kind="coolant", task="renew", position=""):
    return PlannedWork(place=Place(kind, position), task=task, on=date(on))


def test_without_a_plan_the_days_are_those_of_the_due_list(car):
    fitted(car, months=24)
    item = renewal(car)
    assert days(item) == [item["today"]["due_on"]] == ["2028-01-01"]


def test_a_damp_winter_brings_the_day_forward_by_half_its_length(car):
    fitted(car, months=24, factor_damp=Decimal("1.5"))
    item = renewal(car, lay_ups=(stay("2026-11-01", "2027-03-01"),))
    assert days(item) == ["2027-11-02"]
    assert item["days_later"] == -60


def test_work_planned_starts_the_interval_anew(car):
    fitted(car, months=24)
    item = renewal(car, done=(work("2027-05-10"),))
    assert days(item) == ["2028-01-01", "2029-05-10"]
    assert item["projected"][0]["done_on"] == "2027-05-10"


def test_work_planned_twice_is_followed_twice(car):
    fitted(car, months=12)
    item = renewal(car, done=(work("2028-02-01"), work("2027-01-15")))
    assert days(item) == ["2027-01-01", "2028-01-15", "2029-02-01"]


def test_what_falls_due_beyond_the_window_is_not_listed(car):
    fitted(car, months=24)
    assert days(renewal(car, months=12)) == []


def test_what_is_done_and_what_never_was_do_not_look_alike(car):
    ComponentFactory(vehicle=car, kind="brake-discs")
    limits = {"months": None, "distance_km": None, "before_use_after_months": 3}
    for kind in ("fuel", "brake-discs"):
        IntervalRuleFactory(
            collection=car.collection, vehicle=car, kind=kind, task="renew", **limits
        )
    ComponentFactory(vehicle=car, kind="fuel")
    plan = {"done": (work("2026-06-05", "fuel"),), "months": 24}
    fuel, discs = (renewal(car, kind, **plan) for kind in ("fuel", "brake-discs"))
    assert (fuel["projected"], discs["projected"]) == ([], [])
    assert fuel["says"] == "done 2026-06-05, nothing due by 2028-06-01"
    assert discs["says"] == "no record, due now"


def test_what_falls_due_after_the_window_says_that_nothing_does_in_it(car):
    fitted(car, months=24)
    assert renewal(car, months=12)["says"] == "done 2026-01-01, nothing due by 2027-06-01"
    assert renewal(car)["says"] == ""


def test_what_only_a_reading_could_date_says_that_no_day_can_be_told():
    parked = VehicleFactory(inspection_regime="", expected_annual_distance=None)
    fitted(parked, distance_km=Decimal(7305))
    assert renewal(parked)["says"] == "done 2026-01-01, no day can be told"


def test_twice_the_distance_a_year_halves_the_time_to_the_limit(car):
    fitted(car, on=TODAY, distance_km=Decimal(7305))
    slow = renewal(car, distance=PlannedDistance(amount=Decimal(3652.5)))
    fast = renewal(car, distance=PlannedDistance(amount=Decimal(7305)))
    assert (days(slow), days(fast)) == (["2028-06-01"], ["2027-06-02"])


def test_a_distance_by_a_day_is_reached_on_that_day(car):
    fitted(car, on=TODAY, distance_km=Decimal(500))
    by = PlannedDistance(amount=Decimal(500), by=date("2026-08-01"))
    assert days(renewal(car, distance=by)) == ["2026-08-01"]


def test_a_planned_lay_up_makes_the_car_cover_its_year_in_the_other_months(car):
    fitted(car, on=TODAY, distance_km=Decimal(999))
    distance = PlannedDistance(amount=Decimal(1000))
    item = renewal(car, distance=distance, lay_ups=(stay("2026-09-01", "2027-03-01"),), months=12)
    assert days(item) == ["2027-06-01"]


def test_no_distance_planned_gives_no_day_by_distance(car):
    fitted(car, on=TODAY, distance_km=Decimal(500))
    assert days(renewal(car, distance=PlannedDistance(amount=Decimal(0)))) == []


def test_a_long_lay_up_to_come_asks_for_work_before_the_first_use(car):
    fitted(car, months=60, before_use_after_months=3)
    item = renewal(car, lay_ups=(stay("2026-11-01", "2027-03-01"),))
    assert (days(item), item["projected"][0]["governed_by"]) == (["2027-03-01"], "first_use")


def test_the_return_of_a_laid_up_car_may_be_planned(car):
    LayUpFactory(vehicle=car, from_on=date("2026-02-25"), to_on=None)
    fitted(car, months=60, before_use_after_months=3)
    assert days(renewal(car, return_on=date("2026-07-01"))) == ["2026-07-01"]


def test_an_expected_return_is_taken_as_planned(car):
    LayUpFactory(
        vehicle=car, from_on=date("2026-05-01"), to_on=None, expected_to=date("2026-07-01")
    )
    fitted(car, months=24, factor_dry=Decimal("1.5"))
    item = renewal(car, lay_ups=(stay("2026-07-01", "2026-08-01"),))
    assert item["projected"]


def test_a_pass_planned_moves_the_inspection(car):
    car.inspection_regime = "gb"
    InspectionFactory(vehicle=car, on=date("2025-09-11"), expires_on=date("2026-09-10"))
    plan = PlanDraft(done=(work("2026-08-20", "roadworthiness-inspection", "inspect"),), months=24)
    item = next(
        item
        for item in project(vehicle=car, plan=plan, on=TODAY)["items"]
        if item["component"] == "roadworthiness-inspection"
    )
    assert days(item) == ["2026-09-10", "2027-09-10"]


def finding_of(car, kind="brake-pipe", **plan):
    found = project(vehicle=car, plan=PlanDraft(**plan), on=TODAY)["items"]
    return next(item for item in found if (item["component"], item["task"]) == (kind, "repair"))


@pytest.fixture
def leaking(car):
    failed = InspectionFactory(vehicle=car, result="fail", on=date("2026-05-01"))
    FindingFactory(inspection=failed, component=ComponentFactory(vehicle=car, kind="brake-pipe"))
    return car


@pytest.mark.parametrize("task", ["repair", "renew", "overhaul", "adjust", "clean", "refinish"])
def test_work_planned_that_mends_a_finding_clears_it_on_its_day(leaking, task):
    item = finding_of(leaking, done=(work("2026-06-02", "brake-pipe", task),))
    assert item["today"]["governed_by"] == "finding"
    assert [(one["due_on"], one["done_on"]) for one in item["projected"]] == [
        ("2026-05-01", "2026-06-02")
    ]


def test_a_pass_planned_clears_a_finding(leaking):
    leaking.inspection_regime = "gb"
    done = (
        work("2026-06-03", "coolant"),
        work("2026-08-20", "roadworthiness-inspection", "inspect"),
    )
    ComponentFactory(vehicle=leaking, kind="coolant")
    assert finding_of(leaking, done=done)["projected"][0]["done_on"] == "2026-08-20"


def test_a_finding_only_looked_at_is_not_cleared(leaking):
    item = finding_of(leaking, done=(work("2026-06-02", "brake-pipe", "inspect"),))
    assert item["projected"][0]["done_on"] is None


def driven_in_summer(car, years=(2023, 2024, 2025)):
    """A car that covers 1 000 km in each month from May to September, and 100 in the others."""
    value = 10_000
    for year in years:
        for month in range(1, 13):
            on = datetime.date(year, month, 1)
            OdometerReadingFactory(vehicle=car, on=on, value=Decimal(value))
            value += 1000 if 5 <= month <= 9 else 100
    return value


def test_a_car_driven_in_summer_reaches_its_distance_in_summer():
    car = VehicleFactory(inspection_regime="", odometer_digits=6)
    value = driven_in_summer(car)
    fitted(car, on=date("2025-10-01"), distance_km=Decimal(2000))
    on = date("2026-01-01")
    OdometerReadingFactory(vehicle=car, on=on, value=Decimal(value))
    found = project(vehicle=car, plan=PlanDraft(), on=on)
    item = next(i for i in found["items"] if (i["component"], i["task"]) == ("coolant", "renew"))
    assert "2026-05-15" < item["by_season"]["due_on"] < "2026-07-10"
    assert item["projected"][0]["due_on"] < "2026-05-10"
    assert "Months: by two years and more of the car's own readings." in found["assumes"]


def test_a_car_new_to_the_collection_is_taken_to_follow_its_months():
    old = VehicleFactory(inspection_regime="", odometer_digits=6)
    driven_in_summer(old)
    new = VehicleFactory(inspection_regime="", odometer_digits=6, collection=old.collection)
    driven_in_summer(new, years=(2025,))
    found = project(vehicle=new, plan=PlanDraft(), on=date("2026-01-01"))
    assert any("readings of the collection" in text for text in found["assumes"])


def test_the_months_of_another_collection_are_not_looked_at():
    driven_in_summer(VehicleFactory(odometer_digits=6))
    new = VehicleFactory(inspection_regime="", odometer_digits=6)
    driven_in_summer(new, years=(2025,))
    found = project(vehicle=new, plan=PlanDraft(), on=date("2026-01-01"))
    assert any("Months: alike" in text for text in found["assumes"])


def test_too_few_readings_give_no_band_by_season(car):
    fitted(car, distance_km=Decimal(5000))
    assert renewal(car)["by_season"] is None


def test_nothing_of_a_plan_is_saved(car):
    fitted(car, months=24)
    before = [model.objects.count() for model in (LayUp, Entry, DueItem)]
    renewal(car, lay_ups=(stay("2026-11-01", "2027-03-01"),), done=(work("2027-05-10"),))
    assert [model.objects.count() for model in (LayUp, Entry, DueItem)] == before


@pytest.mark.parametrize(
    ("plan", "pointer"),
    [
        ({"months": 0}, "/months"),
        ({"return_on": TODAY}, "/return_on"),
        ({"lay_ups": (stay("2026-05-31", "2026-07-01"),)}, "/lay_ups/0/from"),
        ({"lay_ups": (stay("2026-07-01", "2026-07-01"),)}, "/lay_ups/0/to"),
        ({"lay_ups": (stay("2026-07-01", "2026-07-02", "cellar"),)}, "/lay_ups/0/storage"),
        (
            {"lay_ups": (stay("2026-07-20", "2026-08-01"), stay("2026-07-01", "2026-07-21"))},
            "/lay_ups/0/from",
        ),
        ({"distance": PlannedDistance(amount=Decimal(-1))}, "/distance"),
        ({"distance": PlannedDistance(amount=Decimal(1), by=TODAY)}, "/distance/by"),
        ({"done": (work("2026-05-31"),)}, "/done/0/on"),
        ({"done": (work("2026-07-01", task="paint"),)}, "/done/0/task"),
        ({"done": (work("2026-07-01", position="rear"),)}, "/done/0/position"),
        ({"done": (work("2026-07-01", kind="battery"),)}, "/done/0/kind"),
        ({"done": (work("2026-07-01", kind="brake-fluids"),)}, "/done/0/kind"),
        ({"done": (work("2026-07-01", "roadworthiness-inspection"),)}, "/done/0/task"),
        ({"done": tuple(work("2026-07-01") for _ in range(121))}, "/done"),
    ],
)
def test_a_plan_that_can_not_be_is_refused_by_the_field_at_fault(car, plan, pointer):
    ComponentFactory(vehicle=car, kind="coolant")
    with pytest.raises(Refused) as refused:
        project(vehicle=car, plan=PlanDraft(**plan), on=TODAY)
    assert [problem.pointer for problem in refused.value.problems] == [pointer]


def test_a_lay_up_beside_one_without_a_known_end_is_refused(car):
    LayUpFactory(vehicle=car, from_on=date("2026-02-25"), to_on=None)
    with pytest.raises(Refused, match="return_on"):
        project(vehicle=car, plan=PlanDraft(lay_ups=(stay("2026-07-01", "2026-08-01"),)), on=TODAY)
