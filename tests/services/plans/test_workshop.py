"""Plans of a keeper with a hired lift, a rented place, tools of their own, or one pair of hands."""

from dataclasses import replace
from decimal import Decimal

import pytest

from maintenance.services.plans.jobs import change_job
from maintenance.services.plans.stored import draft_plan, plan_again
from maintenance.services.plans.terms import PersonDraft, ResourceDraft, weekly
from tests.services.asking import refused
from tests.services.plans.cars import (
    FIRST,
    TODAY,
    draft,
    fitted,
    kept,
    laid_up_car,
    planned,
    two_axles,
)

pytestmark = pytest.mark.django_db
LIFT = ResourceDraft(name="lift", daily_cost=Decimal(80))
PLACE = ResourceDraft(name="rented place", daily_cost=Decimal(25), whole_span=True)
HOSE = "renew brake-hose front left"


def hire(*resources, **said):
    return planned(two_axles(), resources=resources, currency="EUR", **said)


def test_a_hired_lift_is_paid_for_the_day_on_which_the_car_is_on_it():
    sheets = hire(LIFT)
    assert sheets.plan.result["costs"]["hire"] == 80
    assert sheets.jobs["raise car"].starts_on == sheets.jobs["lower car"].starts_on == FIRST


def test_a_rented_place_is_paid_from_the_first_day_to_the_last():
    sheets = hire(PLACE)
    first, last = (sheets.jobs[key].starts_on for key in (HOSE, "bleed brake-circuit front right"))
    assert sheets.plan.result["costs"]["hire"] == 25 * ((last - first).days + 1)
    assert sheets.jobs[HOSE].uses == ["rented place"]


def test_any_number_of_jobs_is_done_in_a_place_at_a_time():
    assert hire(PLACE).plan.result["ready_on"] == hire().plan.result["ready_on"]


def test_a_thing_that_no_job_can_use_is_refused_with_what_can_be_named():
    lyft = (ResourceDraft(name="lyft"),)
    told = refused(planned, car=two_axles(), resources=lyft)
    assert "the nearest known word is 'lift'" in told["/resources/0/name"]
    assert "say in used_for which component kinds need it" in told["/resources/0/name"]


def test_a_tool_of_the_keepers_own_is_named_with_the_kinds_that_need_it():
    tool = ResourceDraft(name="flaring tool", daily_cost=Decimal(6), used_for=("brake-hose",))
    sheets = hire(tool)
    assert sheets.jobs[HOSE].uses == ["flaring tool"]
    assert sheets.plan.result["costs"]["hire"] == 6


def test_an_unknown_kind_that_a_tool_is_used_for_is_refused():
    tool = (ResourceDraft(name="flaring tool", used_for=("brake-hoses",)),)
    told = refused(planned, car=two_axles(), resources=tool)
    assert "'brake-hose'" in told["/resources/0/used_for/0"]


def test_what_no_job_of_the_plan_uses_is_told():
    car = laid_up_car()
    fitted(car, "engine-oil")
    sheets = planned(car, resources=(LIFT,), currency="EUR")
    assert (
        "No job of this plan uses 'lift', so nothing is paid for it."
        in (sheets.plan.result["notes"])
    )


def test_one_person_alone_gets_a_plan():
    sheets = planned(two_axles(), people=("Ada",))
    assert sheets.plan.state == "planned"
    assert {job.hands for job in sheets.jobs.values()} == {1}


def test_two_people_who_are_never_there_together_work_as_one():
    terms = draft()
    people = tuple(
        PersonDraft(name=name, hours=weekly((day,), 7))
        for name, day in (("Ada", "sat"), ("Ben", "sun"))
    )
    sheets = draft_plan(vehicle=two_axles(), draft=replace(terms, people=people), today=TODAY)
    assert sheets.plan.state == "planned"


def change(plan, key, **changes):
    job = plan.jobs.get(key=key)
    return change_job(job=job, version=job.version, changes=changes, today=TODAY)


def test_a_keeper_says_how_many_hands_a_job_takes_and_what_it_uses(now):
    plan = kept(two_axles(), now, resources=(LIFT,), currency="EUR")
    change(plan, HOSE, own_hands=2, own_uses=["press"])
    job = plan_again(plan=plan, today=TODAY, at=now).jobs.get(key=HOSE)
    assert (job.hands, job.uses, len(job.people)) == (2, ["press"], 2)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [({"own_hands": 0}, "/own_hands"), ({"own_uses": ["crane"]}, "/own_uses")],
)
def test_hands_and_things_that_there_are_not_are_refused(now, changes, pointer):
    plan = kept(two_axles(), now)
    assert pointer in refused(change, plan=plan, key=HOSE, **changes)
