"""Nobody works on a car that is driven, aligned, inspected, raised or lowered."""

from dataclasses import replace

import pytest

from maintenance.catalogue.job_rules import job_rules
from maintenance.planning.jobs import Job
from maintenance.planning.order import Prerequisite
from maintenance.planning.problem import Problem
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, STANDS, breaches
from tests.planning.rules import made_of, steps_of, wanted

DRIVE = Job("road test", hours=4, in_one_go=True, takes_car=True)


def planned(*jobs, steps=()):
    problem = Problem(jobs, steps, (ADA, BEN), SATURDAY, SATURDAY.replace(month=6))
    plan = plan_schedule(problem)
    assert breaches(problem, plan) == []
    return plan


def test_what_would_fit_beside_the_drive_is_done_before_or_after_it():
    plan = planned(DRIVE, Job("lubricate the joints", hours=4), Job("wash", hours=4))
    drive, joints = plan.job("road test"), plan.job("lubricate the joints")
    assert drive.end_slot <= joints.start_slot or joints.end_slot <= drive.start_slot


def test_a_car_away_all_saturday_is_worked_on_the_next():
    plan = planned(DRIVE, Job("exhaust", hours=5))
    assert (plan.ready_on - SATURDAY).days == 7


def test_what_waits_for_the_drive_anyway_is_as_early_as_before():
    after = Job("wash", hours=4)
    plan = planned(DRIVE, after, steps=(Prerequisite("road test", "wash"),))
    assert plan.ready_on == SATURDAY


def test_a_wish_that_is_left_out_keeps_no_other_work_from_the_drive():
    wish = Job("lacquer", hours=1, cost=90_000, criticality="appearance", optional=True, value=1)
    steps = (Prerequisite("wash", "lacquer"), Prerequisite("lacquer", "road test"))
    plan = planned(DRIVE, Job("wash", hours=4), wish, steps=steps)
    assert [job.id for job in plan.left_out] == ["lacquer"]


def test_neither_the_drive_nor_work_beside_it_may_slip_onto_the_other():
    plan = planned(replace(DRIVE, hours=8), Job("exhaust", hours=8))
    assert (plan.ready_on - SATURDAY).days == 7
    assert [job.float_days for job in plan.jobs] == [0, 0]


def test_a_wish_before_the_drive_may_slip_past_it():
    wish = Job("polish", hours=1, criticality="appearance", optional=True, value=50_000)
    plan = planned(replace(DRIVE, hours=7), wish)
    assert plan.ready_on == SATURDAY
    assert (plan.job("road test").float_days, plan.job("polish").float_days > 0) == (0, True)


def test_nobody_lies_under_a_car_on_its_way_up_or_down():
    made = made_of([], wanted("tyre front left"), wanted("master-cylinder"), wanted("exhaust"))
    steps = steps_of(made)
    problem = Problem(
        made.jobs, steps, (ADA, BEN), SATURDAY, SATURDAY.replace(month=6), (STANDS,), made.holds
    )
    plan = plan_schedule(problem)
    assert breaches(problem, plan) == []
    for moved in (plan.job("raise axle front"), plan.job("lower axle front")):
        beside = [
            job.job.id
            for job in plan.jobs
            if job is not moved
            and job.start_slot < moved.end_slot
            and moved.start_slot < job.end_slot
        ]
        assert beside == []


@pytest.mark.parametrize(
    ("kind", "task"),
    [
        ("whole-car", "first_drive"),
        ("whole-car", "road_test"),
        ("friction-material", "bed_in"),
        ("wheel-alignment", "adjust"),
        ("whole-car", "roadworthiness_inspection"),
        ("whole-car", "roadworthiness_re_inspection"),
        ("axle", "raise"),
        ("axle", "lower"),
        ("car", "raise"),
        ("car", "lower"),
    ],
)
def test_the_trades_rules_say_so_of(kind, task):
    assert job_rules().standard(kind, task).takes_car
