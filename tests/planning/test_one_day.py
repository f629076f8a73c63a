"""Brakes are bled from the first end to the last on one day."""

from dataclasses import replace
from datetime import date

from maintenance.catalogue.job_rules import job_rules
from maintenance.planning.jobs import Job
from maintenance.planning.order import Prerequisite, one_day
from maintenance.planning.problem import Problem
from maintenance.planning.replan import Done, replan
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, breaches
from tests.planning.rules import fitted, made_of, wanted

ENDS = ("rear", "middle", "front")
BLEEDING = tuple(Job(f"bleed {end}", hours=2, hands=2) for end in ENDS)
PAIRS = zip(ENDS, ENDS[1:], strict=False)
STEPS = tuple(Prerequisite(f"bleed {one}", f"bleed {then}") for one, then in PAIRS)
GROUP = tuple(job.id for job in BLEEDING)
HOSE = Job("hose", hours=4)
PROBLEM = Problem(
    (HOSE, *BLEEDING),
    (*STEPS, Prerequisite("hose", "bleed rear")),
    (ADA, BEN),
    SATURDAY,
    date(2030, 6, 1),
    one_day=(GROUP,),
)


def days(problem):
    plan = plan_schedule(problem)
    assert breaches(problem, plan) == []
    return [(plan.job(job).start.day - SATURDAY).days for job in GROUP]


def test_what_does_not_fit_into_the_rest_of_a_day_waits_whole_for_the_next():
    assert days(PROBLEM) == [7, 7, 7]


def test_what_fits_is_done_at_once():
    assert days(replace(PROBLEM, jobs=BLEEDING, steps=STEPS)) == [0, 0, 0]


def test_what_no_day_is_long_enough_for_is_spread():
    longer = tuple(replace(job, hours=4) for job in BLEEDING)
    assert days(replace(PROBLEM, jobs=longer, steps=STEPS)) == [0, 0, 7]


def test_the_rest_of_a_bleeding_begun_is_done_on_one_day():
    plan = plan_schedule(PROBLEM)
    sunday = date(2030, 3, 10)
    done = [Done("hose", SATURDAY), Done("bleed rear", date(2030, 3, 9))]
    rest = replan(PROBLEM, plan, done, sunday)
    assert {p.start.day for p in rest.jobs} == {date(2030, 3, 16)}


def test_the_trades_rules_keep_the_four_bleedings_together():
    made = made_of(fitted("brake-fluid"), wanted("brake-fluid"))
    assert [len(group) for group in one_day(made.jobs, job_rules())] == [4]
