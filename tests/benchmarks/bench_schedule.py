"""How good and how quick is the scheduler on a recommissioning of 120 jobs?

Run from the top folder: ``python -m tests.benchmarks.bench_schedule``. Prints the day on which the
car is ready and the cost, each as a ratio to those of the serial schedule-generation scheme
(Kolisch 1996, longest tail first), which plans the same jobs in the same run; 1 is no better.
"""

import random
from datetime import date, time
from time import perf_counter, process_time

from maintenance.planning.conflict import Conflict
from maintenance.planning.costing import costs_of
from maintenance.planning.jobs import Hold, Job, Part, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import PlannedJob
from maintenance.planning.problem import Problem, Resource, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.serial import serial_schedule
from maintenance.planning.working_calendar import Person, Shift

SYSTEMS = ("brakes", "steering", "suspension", "fuel", "cooling", "engine", "electrics", "body")
THINGS = ("bench", "press", "lift", "")


def recommissioning(count: int = 120, seed: int = 7) -> Problem:
    """A car of `count` jobs, four raised axles among them, made from a seed.

    Parameters
    ----------
    count : int
        Number of jobs.
    seed : int
        Seed of the making.

    Returns
    -------
    Problem
        Two people at weekends, one of them with evenings, a hired lift, a rented place.
    """
    rng = random.Random(seed)
    jobs: list[Job] = []
    steps: list[Prerequisite] = []
    holds: list[Hold] = []
    for axle in range(4):
        ids = [f"axle {axle} {n}" for n in range(7)]
        jobs += [_job(i, rng, "suspension", "") for i in ids]
        steps += [Prerequisite(ids[0], i) for i in ids[1:]]
        steps += [Prerequisite(i, ids[-1]) for i in ids[1:-1]]
        holds.append(Hold(f"axle {axle}", ids[0], ids[-1], (Use("stands"),), immobilises=True))
    while len(jobs) < count - 2:
        jobs.append(_job(f"job {len(jobs)}", rng, rng.choice(SYSTEMS), rng.choice(THINGS)))
        for other in rng.sample(range(28, len(jobs)), min(len(jobs) - 28, rng.randrange(3))):
            if jobs[other].id != jobs[-1].id:
                steps.append(Prerequisite(jobs[other].id, jobs[-1].id))
    drive = Job("road test", hours=1, in_one_go=True, criticality="safety", uses=(Use("place"),))
    test = Job("inspection", hours=2, in_one_go=True, phase="inspection")
    steps += [Prerequisite(job.id, drive.id) for job in jobs if not job.optional]
    steps.append(Prerequisite(drive.id, test.id))
    return _problem((*jobs, drive, test), steps, holds)


def _job(name: str, rng: random.Random, system: str, thing: str) -> Job:
    parts = (Part(name, rng.randrange(500, 20000), "counter", rng.choice((0, 3, 10, 20))),)
    optional = rng.random() < 0.1 and not name.startswith("axle")
    welding = rng.random() < 0.05
    return Job(
        name,
        hours=rng.choice((0.5, 0.5, 1, 1, 1.5, 2, 3)),
        system=system,
        parts=parts if rng.random() < 0.5 else (),
        hands=2 if rng.random() < 0.1 and not welding else 1,
        who=("welder",) if welding else (),
        uses=tuple(Use(name) for name in (thing, "place") if name),
        optional=optional,
        value=rng.randrange(30000) if optional else 0,
    )


def _problem(jobs: tuple[Job, ...], steps: list[Prerequisite], holds: list[Hold]) -> Problem:
    weekend = tuple(Shift(day, time(9), time(17)) for day in (5, 6))
    evening = (Shift(2, time(18), time(21)),)
    return Problem(
        jobs=jobs,
        steps=tuple(steps),
        people=(
            Person("one", weekend + evening, cost_per_hour=1500),
            Person("two", weekend, skills=("welder",), cost_per_hour=2500),
        ),
        on=date(2030, 3, 2),
        calendar_until=date(2030, 7, 31),
        resources=(
            Resource("stands"),
            Resource("press"),
            Resource("bench"),
            Resource("lift", daily_cost=4000),
            Resource("place", capacity=99, daily_cost=500, whole_span=True),
        ),
        holds=tuple(holds),
    )


def baseline(problem: Problem) -> tuple[date, int]:
    """Day on which the car is ready, and cost [minor units], by the serial scheme."""
    grid = problem.grid()
    placed = serial_schedule(problem)
    assert placed is not None, "the calendar is too short for the serial scheme"
    people = problem.people
    jobs = []
    for job in problem.jobs:
        if job.id in placed and not job.optional:
            at = placed[job.id]
            names = tuple(people[i].name for i, _ in at.crew.counts)
            start, end = grid.start_moment(at.start), grid.end_moment(at.end)
            jobs.append(PlannedJob(job, start, end, at.start, at.end, names))
    ready = max(p.end.day for p in jobs if problem.before_ready(p.job))
    return ready, costs_of(problem, jobs).total


def main() -> None:
    """Plan by both and print the ratios."""
    problem = recommissioning()
    begin = perf_counter()
    ready, cost = baseline(problem)
    serial_seconds = perf_counter() - begin
    begin, begin_work = perf_counter(), process_time()
    plan = plan_schedule(problem, Settings())
    seconds, work = perf_counter() - begin, process_time() - begin_work
    assert not isinstance(plan, Conflict), plan
    assert plan.ready_on is not None
    days = (plan.ready_on - problem.on).days + 1
    serial_days = (ready - problem.on).days + 1
    kept = [planned for planned in plan.jobs if not planned.job.optional]
    print(f"jobs {len(problem.jobs)}, baseline: serial schedule-generation, longest tail first")
    print(f"days until ready: {days} against {serial_days}, ratio {days / serial_days:.3f}")
    must = costs_of(problem, kept).total
    print(f"cost without optional jobs: {must} against {cost}, ratio {must / cost:.3f}")
    print(
        f"seconds by the clock: {seconds:.2f} against {serial_seconds:.2f}; of one core {work:.2f}"
    )
    for stage in plan.stages:
        told = "proven" if stage.proven else f"not proven, gap at most {stage.gap}"
        print(f"  {stage.name}: {stage.value} {stage.unit} ({told})")


if __name__ == "__main__":
    main()
