from dataclasses import replace
from datetime import timedelta

import pytest

from maintenance.planning.errors import PlanningError
from maintenance.planning.estimates import Outturn, estimate_error
from maintenance.planning.jobs import OPEN, Job
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import Plan
from maintenance.planning.replan import Done, remaining, replan
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, breaches
from tests.planning.test_two_axles import SECOND, THIRD, late_hoses, two_axles


def again(problem, done, on=SECOND) -> Plan:
    earlier = plan_schedule(problem)
    plan = replan(problem, earlier, done, on)
    assert isinstance(plan, Plan), plan
    assert not breaches(remaining(problem, done, on), plan)
    return plan


def as_planned(problem, until=SATURDAY):
    plan = plan_schedule(problem)
    return [Done(p.job.id, p.end.day) for p in plan.jobs if p.end.day <= until]


def test_work_that_went_as_planned_moves_nothing():
    problem = two_axles()
    plan = again(problem, as_planned(problem))

    moved = next(stage for stage in plan.stages if stage.name == "jobs moved to another day")
    assert moved.value == 0
    assert plan.ready_on == SECOND


def test_jobs_that_are_done_are_not_planned_again():
    problem = two_axles()
    plan = again(problem, as_planned(problem))

    assert {planned.job.id.split(" ")[0] for planned in plan.jobs} == {"bleed", "first", "road"}


def test_a_day_that_fell_through_moves_the_car_to_the_next_saturday():
    plan = again(two_axles(), [])

    late = next(stage for stage in plan.stages if stage.name == "later than promised")
    assert plan.ready_on == THIRD
    assert late.value == 7


def test_an_axle_that_stands_raised_keeps_the_stands_until_it_is_lowered():
    problem = two_axles()
    done = [Done("raise front", SATURDAY), Done("front hoses", SATURDAY)]
    rest = remaining(problem, done, SECOND)
    plan = again(problem, done)

    assert [hold.opener for hold in rest.holds] == [OPEN, "raise rear"]
    assert plan.job("raise rear").start_slot >= plan.job("lower front").end_slot


def test_a_part_ordered_on_the_first_day_does_not_come_later_for_planning_again():
    problem = late_hoses(two_axles())
    plan = again(problem, [])

    assert plan.job("rear hoses").start.day == THIRD


def test_a_new_finding_adds_its_job_and_leaves_the_others_on_their_days():
    problem = two_axles()
    earlier = plan_schedule(problem)
    found = Job("weld the sill", hours=2, criticality="safety")
    more = replace(
        problem,
        jobs=(*problem.jobs, found),
        steps=(*problem.steps, Prerequisite(found.id, "road test")),
    )
    plan = replan(more, earlier, as_planned(problem), SECOND)

    assert plan.ready_on == SECOND
    assert plan.job("weld the sill").start.day == SECOND


def test_a_job_half_done_is_planned_for_the_hours_left_and_paid_for_once():
    problem = late_hoses(two_axles())
    done = [Done("raise rear", SATURDAY), Done("rear hoses", SATURDAY, cost=4000, hours_left=1)]
    rest = remaining(problem, done, SECOND)

    job = next(job for job in rest.jobs if job.id == "rear hoses")
    assert (job.hours, job.outlay, rest.spent) == (1, 0, 4000)


def test_the_wash_that_a_finished_job_called_for_is_still_done():
    called = Job("wash", needed_by=("polish",))
    polish = Job("polish", optional=True, value=100)
    problem = replace(two_axles(), jobs=(polish, called), steps=(), holds=())

    rest = remaining(problem, [Done("polish", SATURDAY)], SECOND)

    assert [(job.id, job.needed_by) for job in rest.jobs] == [("wash", ())]


@pytest.mark.parametrize(
    ("done", "words"),
    [
        (Done("gearbox", SATURDAY), "not in the plan"),
        (Done("front pads", SECOND + timedelta(days=1)), "done on 2030-03-10, after 2030-03-09"),
    ],
)
def test_work_that_can_not_be_done_yet_is_refused(done, words):
    with pytest.raises(PlanningError, match=words):
        remaining(two_axles(), [done], SECOND)


def test_the_moved_jobs_are_as_few_as_can_be():
    jobs = tuple(Job(str(n), hours=4) for n in range(4))
    problem = replace(two_axles(), jobs=jobs, steps=(), holds=(), people=(ADA,))
    away = replace(problem, people=(replace(BEN, name="Ada"),))
    earlier = plan_schedule(problem)
    done = [Done(p.job.id, p.end.day) for p in earlier.jobs[:1]]

    plan = replan(away, earlier, done, SECOND)

    moved = next(stage for stage in plan.stages if stage.name == "jobs moved to another day")
    assert moved.value == 1


def test_estimates_that_were_too_low_by_half_say_so():
    error = estimate_error([Outturn("hoses", 2, 3, 1000, 1500), Outturn("pads", 2, 3, 1000, 1500)])

    assert (error.hours_ratio, error.cost_ratio, error.mean_hours_off) == (1.5, 1.5, 1.0)


def test_without_a_finished_job_there_is_no_estimate_error():
    assert estimate_error([]).hours_ratio is None
