"""A car that has left its collection: nothing more is planned for it."""

from decimal import Decimal

import pytest

from maintenance.models import RecommissioningPlan
from maintenance.services.departures import leave
from maintenance.services.evidence import withdraw
from maintenance.services.plans.jobs import add_part, add_wish, change_job, mark_done
from maintenance.services.plans.sheets import draft_of
from maintenance.services.plans.stored import (
    change_plan,
    draft_plan,
    keep_plan,
    make_plan,
    plan_again,
    remove_plan,
)
from maintenance.services.plans.terms import DoneDraft, VisitDraft, WishDraft
from maintenance.services.plans.visits import visit_plan
from maintenance.services.projection import project
from maintenance.services.trip_check import TripDraft, trip_check
from maintenance.services.what_if import PlanDraft
from tests.factories import NOW
from tests.services.asking import refused
from tests.services.plans.cars import TODAY, draft, kept, two_axles

pytestmark = pytest.mark.django_db

WHEN = {"today": TODAY, "at": NOW}
TRIP = TripDraft(from_on=TODAY, to_on=TODAY, distance=Decimal(10))


@pytest.fixture
def car():
    return two_axles(registration="HM 7")


@pytest.fixture
def plan(car):
    return kept(car, NOW)


def sold(car):
    return leave(vehicle=car, on=TODAY, how="sold", by=None, **WHEN)


def closed(call, **arguments):
    return "HM 7 has left the collection" in refused(call, **arguments)[""]


def test_no_plan_is_made_of_it(car):
    sold(car)
    assert closed(make_plan, vehicle=car, draft=draft(), **WHEN)
    assert closed(draft_plan, vehicle=car, draft=draft(), today=TODAY)


def test_a_plan_is_not_kept_of_a_car_that_left_during_the_search(car):
    sheets = draft_plan(vehicle=car, draft=draft(), today=TODAY)
    sheets.plan.planned_at = NOW
    sold(car)
    assert closed(keep_plan, sheets=sheets)
    assert not RecommissioningPlan.objects.exists()


def test_a_plan_made_before_stays_as_it_was(car, plan):
    job = plan.jobs.order_by("sequence").first()
    version = {"version": plan.version}
    sold(car)
    assert closed(plan_again, plan=plan, **WHEN)
    assert closed(change_plan, plan=plan, **version, draft=draft_of(plan), today=TODAY)
    assert closed(add_wish, plan=plan, draft=WishDraft(kind="brake-fluid", task="renew"))
    changes = {"changes": {"own_hands": 1}, "today": TODAY}
    assert closed(change_job, job=job, version=job.version, **changes)
    assert closed(add_part, job=job, given={"name": "a hose", "price": 1}, today=TODAY)
    assert closed(mark_done, job=job, draft=DoneDraft(on=TODAY), by=None, **WHEN)


def test_its_plan_may_be_thrown_away(car, plan):
    sold(car)
    remove_plan(plan=plan, version=plan.version)
    assert not RecommissioningPlan.objects.exists()


def test_it_goes_on_no_trip_and_is_asked_about_no_time_to_come(car):
    sold(car)
    assert closed(trip_check, vehicle=car, trip=TRIP, on=TODAY)
    assert closed(project, vehicle=car, plan=PlanDraft(), on=TODAY)


def test_it_comes_to_no_visit(car):
    sold(car)
    here = two_axles(registration="HM 8", collection=car.collection)
    assert closed(visit_plan, vehicles=[car, here], draft=VisitDraft(), on=TODAY)


def test_a_car_that_came_back_is_planned_again(car, plan):
    gone = sold(car)
    withdraw(record=gone, reason="the sale fell through", by=None, **WHEN)
    assert plan_again(plan=plan, **WHEN).state == RecommissioningPlan.State.PLANNED
    assert trip_check(vehicle=car, trip=TRIP, on=TODAY)
