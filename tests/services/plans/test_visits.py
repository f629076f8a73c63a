"""Visits for cars in use, from their due items."""

import datetime
from decimal import Decimal

import pytest

from maintenance.services.plans.terms import SpanDraft, VisitDraft
from maintenance.services.plans.visits import visit_plan
from tests.factories import (
    CollectionFactory,
    ComponentFactory,
    EntryFactory,
    LayUpFactory,
    ServiceEventFactory,
    VehicleFactory,
)
from tests.services.asking import refused
from tests.services.plans.cars import TODAY, fitted, offer

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    """A car whose fluid is due on 1 March 2027 and whose coolant a fortnight later.

    Both were looked at this month.
    """
    car = VehicleFactory(inspection_regime="")
    looked = ServiceEventFactory(vehicle=car, on=datetime.date(2026, 11, 1))
    for kind, renewed in (("brake-fluid", 1), ("coolant", 15)):
        [component] = fitted(car, kind, renewed=datetime.date(2025, 3, renewed))
        EntryFactory(event=looked, component=component, action="inspect")
    return car


def asked(*cars, **said):
    return visit_plan(vehicles=cars, draft=VisitDraft(**said), on=TODAY)


def visit_of(found, job):
    return next(v["on"] for v in found["visits"] if job in [item["job"] for item in v["items"]])


def test_two_renewals_near_each_other_share_a_visit_in_time_for_the_first(car):
    found = asked(car)
    assert visit_of(found, "Renew brake fluid") == visit_of(found, "Renew coolant") <= "2027-03-01"


def test_nothing_of_safety_is_late(car):
    assert asked(car)["costs"]["overdue_safety_days"] == 0


def test_the_plan_costs_no_more_than_each_item_on_its_day(car):
    found = asked(car)
    assert found["costs"]["total"] <= found["each_on_its_day"]["total"]
    assert found["costs"]["visits"] < found["each_on_its_day"]["visits"]


def test_everything_yearly_is_late_for_what_falls_due_between(car):
    fitted(car, "tyre", "front left", renewed=datetime.date(2026, 6, 1))
    assert asked(car)["everything_yearly"]["overdue_safety_days"] > 0


def test_where_a_visit_costs_nothing_each_item_waits_for_its_day(car):
    found = asked(car, cost_of_visit=Decimal(0))
    assert visit_of(found, "Renew brake fluid") == "2027-03-01"
    assert visit_of(found, "Renew coolant") > "2027-03-01"


def test_no_visit_is_on_a_day_that_is_shut(car):
    shut = SpanDraft(from_on=datetime.date(2027, 2, 1), to_on=datetime.date(2027, 3, 20))
    found = asked(car, closed=(shut,), weekdays=("sat",), cost_of_visit=Decimal(0))
    days = [datetime.date.fromisoformat(visit["on"]) for visit in found["visits"]]
    assert all(day.weekday() == 5 and not shut.from_on <= day <= shut.to_on for day in days)
    assert visit_of(found, "Renew brake fluid") == "2027-01-30"


def test_parts_and_hours_count_as_work(car):
    without = asked(car)["costs"]["work"]
    offer(car, "coolant", "100.00")
    assert asked(car)["costs"]["work"] > without


def test_a_laid_up_car_waits_until_it_returns():
    car = VehicleFactory(inspection_regime="")
    back = {"from_on": datetime.date(2026, 10, 1), "to_on": None}
    LayUpFactory(vehicle=car, expected_to=datetime.date(2027, 4, 1), **back)
    fitted(car, "brake-fluid", renewed=datetime.date(2020, 3, 1))
    assert visit_of(asked(car, cost_of_visit=Decimal(0)), "Renew brake fluid") == "2027-04-01"


def test_a_car_laid_up_for_an_unknown_time_is_named_and_not_planned():
    car = VehicleFactory(inspection_regime="")
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 10, 1), to_on=None)
    fitted(car, "brake-fluid", renewed=datetime.date(2020, 3, 1))
    found = asked(car)
    assert found["visits"] == [] and found["laid_up_for_unknown_time"] == [car.registration]


def test_what_is_overdue_is_done_on_the_first_open_day():
    car = VehicleFactory(inspection_regime="")
    fitted(car, "brake-fluid", renewed=datetime.date(2020, 3, 1))
    assert visit_of(asked(car, weekdays=("sat",)), "Renew brake fluid") == "2026-11-28"


def test_a_renewal_settles_the_inspection_of_the_same_part_on_its_day():
    car = VehicleFactory(inspection_regime="")
    ComponentFactory(vehicle=car, kind="brake-hose", position="front left")
    first = asked(car)["visits"][0]["items"]
    assert [item["task"] for item in first if item["component"] == "brake-hose"] == ["renew"]


def test_an_overdue_inspection_is_not_done_where_a_renewal_soon_after_makes_it_needless():
    car = VehicleFactory(inspection_regime="")
    fitted(car, "brake-fluid", renewed=datetime.date(2025, 3, 1))
    # A look costs half an hour for a year: lost from March on, it is dearer than three months of
    # the fluid's two years.
    found = asked(car, cost_of_visit=Decimal(0))
    first = found["visits"][0]
    assert first["on"] == TODAY.isoformat()
    assert [item["job"] for item in first["items"]] == ["Renew brake fluid"]


def test_what_has_no_record_is_done_on_the_first_open_day_where_today_is_shut():
    car = VehicleFactory(inspection_regime="")
    ComponentFactory(vehicle=car, kind="brake-fluid")
    found = asked(car, closed=(SpanDraft(from_on=TODAY, to_on=TODAY),))
    assert found["conflict"] is None
    assert found["visits"][0]["on"] == (TODAY + datetime.timedelta(1)).isoformat()


def test_two_cars_share_a_week_no_longer_than_the_workshops():
    club = CollectionFactory()
    cars = [VehicleFactory(collection=club, inspection_regime="") for _ in range(2)]
    for car in cars:
        fitted(car, "brake-discs", "front", "rear", renewed=datetime.date(2026, 9, 1))
        fitted(car, "coolant", renewed=datetime.date(2025, 3, 15))
    found = asked(*cars, hours_per_week=1.5)
    weeks = {}
    for visit in found["visits"]:
        week = datetime.date.fromisoformat(visit["on"]).isocalendar()[:2]
        weeks[week] = weeks.get(week, 0) + visit["hours"]
    assert found["conflict"] is None and max(weeks.values()) <= 1.5


def test_the_same_question_has_the_same_answer(car):
    assert asked(car) == asked(car)


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"months": 0}, "/months"),
        ({"cost_of_visit": Decimal(-1)}, "/cost_of_visit"),
        ({"currency": ""}, "/currency"),
        ({"weekdays": ()}, "/weekdays"),
        ({"weekdays": ("sunday",)}, "/weekdays/0"),
        ({"hours_per_week": 0.0}, "/hours_per_week"),
        ({"time_limit": 0}, "/time_limit"),
    ],
)
def test_terms_that_make_no_sense_are_refused_by_their_field(car, said, pointer):
    assert pointer in refused(asked_of, car=car, **said)


def asked_of(car, **said):
    return asked(car, **said)
