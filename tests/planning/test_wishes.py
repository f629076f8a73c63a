"""Wishes are granted where deadline and budget allow, after the car is ready if need be."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from maintenance.catalogue.job_rules import job_rules
from maintenance.planning.jobs import Job, Part
from maintenance.planning.order import Prerequisite, prerequisites
from maintenance.planning.problem import Problem
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, breaches
from tests.planning.rules import wanted

NEXT = SATURDAY + timedelta(days=7)
BRAKES = Job("brakes", hours=16, criticality="safety")
POLISH = Job("polish", hours=2, optional=True, criticality="appearance", cost=500)


def planned(*jobs, steps=(), **said):
    told = {"deadline": date(2030, 5, 1)} | said
    problem = Problem(jobs, steps, (ADA, BEN), SATURDAY, date(2031, 3, 1), **told)
    plan = plan_schedule(problem)
    assert breaches(problem, plan) == []
    return plan


def test_a_wish_uses_the_days_after_the_car_is_ready():
    plan = planned(replace(BRAKES, hands=2, hours=8), POLISH)
    assert (plan.ready_on, plan.job("polish").start.day, plan.left_out) == (SATURDAY, NEXT, ())


def test_a_wish_that_fits_beside_the_rest_waits_for_nothing():
    plan = planned(replace(BRAKES, hours=6), POLISH)
    assert plan.job("polish").start.day == SATURDAY


def test_a_wish_that_comes_before_the_drive_is_worth_a_later_day():
    hose = Job("hose", hours=2, optional=True)
    drive = Job("drive", hours=1, criticality="safety")
    before = Prerequisite("hose", "drive")
    plan = planned(replace(BRAKES, hands=2, hours=7), hose, drive, steps=(before,))
    assert (plan.ready_on, plan.left_out) == (NEXT, ())


def test_a_wish_that_the_deadline_is_too_near_for_is_left_out():
    plan = planned(replace(BRAKES, hands=2, hours=8), POLISH, deadline=SATURDAY)
    assert [job.id for job in plan.left_out] == ["polish"]


def test_of_two_wishes_the_one_that_the_budget_reaches_for_is_granted():
    dear = replace(POLISH, id="chrome", cost=9000)
    plan = planned(replace(BRAKES, hours=1), POLISH, dear, budget=600)
    assert [job.id for job in plan.left_out] == ["chrome"]


def test_no_wish_is_granted_after_the_deadline():
    late = replace(POLISH, parts=(Part("paste", 1, lead_days=90),))
    plan = planned(replace(BRAKES, hours=1), late)
    assert [job.id for job in plan.left_out] == ["polish"]


@pytest.mark.parametrize("budget", [None, 100000])
def test_the_cost_that_is_told_is_the_cost(budget):
    plan = planned(replace(BRAKES, hours=1, cost=1000), POLISH, budget=budget)
    told = {stage.name: stage.value for stage in plan.stages}
    assert told["cost"] == plan.costs.total == 1500


def test_where_the_keeper_gave_a_worth_the_figure_says_that_it_is_taken_off():
    plan = planned(replace(BRAKES, hours=1), replace(POLISH, value=900))
    told = {stage.name: stage.value for stage in plan.stages}
    assert told["cost less the worth of optional jobs"] == -400


def test_advice_may_be_taken_after_the_inspection_and_what_must_be_done_may_not():
    test = wanted("whole-car", "roadworthiness_inspection")
    advice = wanted("wiper-blades", criticality="reliability", optional=True)
    duty = wanted("lamp front", criticality="reliability")
    jobs = [Job(i, kind=w.kind, task=w.task, criticality=w.criticality, optional=w.optional,
                phase="inspection" if w is test else "")
            for i, w in (("test", test), ("wipers", advice), ("lamp", duty))]  # fmt: skip
    steps = prerequisites(jobs, job_rules())
    assert [step.before for step in steps if step.after == "test"] == ["lamp"]
