"""The scheduler against the project scheduling problem library: Kolisch, R. & Sprecher, A. (1997),
PSPLIB, EJOR 96, 205-216. Four projects of its set J30 with one resource a job and one, j305_1, with
several, each with the optimum that the library gives as proven.
"""

import tomllib
from datetime import date, time, timedelta
from pathlib import Path

import pytest

from maintenance.planning.jobs import Job, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem, Resource, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.working_calendar import Person, Shift

PROJECTS = tomllib.loads(Path(__file__).with_name("j30_projects.toml").read_text())
ON = date(2030, 1, 7)
AN_HOUR_A_DAY = Person("crew", tuple(Shift(day, time(9), time(10)) for day in range(7)))


def project(name: str) -> Problem:
    """A project of the library as a problem of the scheduler: a day for its unit of time."""
    rows = PROJECTS[name]["jobs"]
    jobs, steps = [], []
    for number, (duration, *needs, followers) in enumerate(rows, start=1):
        if duration:
            uses = tuple(Use(f"R{n}", need) for n, need in enumerate(needs) if need)
            jobs.append(Job(str(number), hours=duration, hands=0, uses=uses))
            then = [str(other) for other in followers if rows[other - 1][0]]
            steps += [Prerequisite(str(number), other) for other in then]
    return Problem(
        jobs=tuple(jobs),
        steps=tuple(steps),
        people=(AN_HOUR_A_DAY,),
        on=ON,
        calendar_until=ON + timedelta(days=sum(row[0] for row in rows)),
        resources=tuple(Resource(f"R{n}", size) for n, size in enumerate(_capacity(name))),
        slot_minutes=60,
    )


def _capacity(name: str) -> list[int]:
    return PROJECTS[name]["capacity"]


@pytest.mark.parametrize(
    ("name", "published"),
    [("j301_1", 43), ("j301_2", 47), ("j301_3", 47), ("j301_4", 62), ("j305_1", 53)],
)
def test_a_project_of_the_library_is_planned_to_its_proven_optimum(name: str, published: int):
    plan = plan_schedule(project(name), Settings(effort=6))

    assert isinstance(plan, Plan)
    assert (plan.ready_on - ON).days + 1 == published == PROJECTS[name]["optimum"]
    assert plan.stages[0].proven
