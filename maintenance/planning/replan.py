"""The plan as work goes on: what is done stays done, the rest moves as little as it can."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ortools.sat.python import cp_model

from maintenance.planning.conflict import Conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.jobs import OPEN, Job, by_id
from maintenance.planning.model import Model
from maintenance.planning.outcome import Plan
from maintenance.planning.outlays import add_day
from maintenance.planning.problem import Problem, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.solving import Objective


@dataclass(frozen=True, slots=True)
class Done:
    """A job that is finished, or the part of it that is.

    Parameters
    ----------
    job : str
        Its id.
    on : datetime.date
        Day on which it was finished, or last worked on.
    cost : int
        What it cost [minor units].
    hours_left : float
        Work still to be done on it [h]; 0 where it is finished.

    References
    ----------
    .. [1] Common practice.
    """

    job: str
    on: date
    cost: int = 0
    hours_left: float = 0.0


def replan(
    problem: Problem,
    earlier: Plan,
    done: Sequence[Done],
    on: date,
    settings: Settings | None = None,
) -> Plan | Conflict:
    """Plan the rest from a day on, moving as few jobs as can be, and those not far.

    Parameters
    ----------
    problem : Problem
        As planned before, with new jobs, prerequisites or findings added; `spent` holds what was
        spent before the first plan.
    earlier : Plan
        The plan to stay close to.
    done : sequence of Done
        What is finished or begun.
    on : datetime.date
        First day that can still be planned.
    settings : Settings, optional
        Seed and effort.

    Returns
    -------
    Plan or Conflict
        The rest; or the smallest set of demands that can't hold together.

    Raises
    ------
    PlanningError
        Where a job is said to be done that is not in the problem, or in the future.

    Notes
    -----
    Objectives before the usual ones: not to be ready later than planned, or as little later as
    can be; then the number of jobs moved to another day; then the working slots by which jobs
    move. A part that was to be ordered by the earlier plan is taken as ordered on its first day,
    so that it does not arrive later because the plan was made again.

    References
    ----------
    .. [1] Common practice.
    """
    rest = remaining(problem, done, on)
    planned = {p.job.id: p for p in earlier.jobs}
    kept = {job.id: planned[job.id].start.day for job in rest.jobs if job.id in planned}

    def close_to_earlier(model: Model) -> list[Objective]:
        return _late(model, earlier.ready_on) + _moved(model, kept)

    return plan_schedule(rest, settings, close_to_earlier)


def remaining(problem: Problem, done: Sequence[Done], on: date) -> Problem:
    """What is left of a problem on a day.

    Parameters
    ----------
    problem : Problem
        The whole.
    done : sequence of Done
        What is finished or begun.
    on : datetime.date
        First day that can still be planned.

    Returns
    -------
    Problem
        Without the finished jobs; their cost is spent. A hold that is open goes on from the first
        slot.

    Raises
    ------
    PlanningError
        Where a job is said to be done that is not in the problem, or in the future.

    References
    ----------
    .. [1] Common practice.
    """
    jobs = by_id(problem.jobs)
    for item in done:
        if item.job not in jobs:
            raise PlanningError(f"job {item.job!r} is said to be done and is not in the plan")
        if item.on > on:
            raise PlanningError(
                f"{jobs[item.job].name} is said to be done on {item.on}, after {on}"
            )
    finished = {item.job for item in done if item.hours_left <= 0}
    begun = {item.job: item.hours_left for item in done if item.hours_left > 0}
    left = [_left(job, problem, finished, begun) for job in problem.jobs]
    ids = {job.id for job in left} - finished
    kept = [
        replace(job, unless=tuple(one for one in job.unless if one in ids))
        for job in left
        if job.id in ids
    ]
    return replace(
        problem,
        jobs=tuple(kept),
        steps=tuple(s for s in problem.steps if s.before in ids and s.after in ids),
        holds=tuple(
            replace(hold, opener=OPEN if hold.opener in finished else hold.opener)
            for hold in problem.holds
            if hold.closer in ids
        ),
        one_day=tuple(tuple(one for one in group if one in ids) for group in problem.one_day),
        on=on,
        spent=problem.spent + sum(item.cost for item in done),
    )


def _left(
    job: Job,
    problem: Problem,
    finished: set[str],
    begun: Mapping[str, float],
) -> Job:
    """A job as it is now: parts under way, hours left, called for by finished work or not."""
    needed = tuple(caller for caller in job.needed_by if caller not in finished)
    if any(caller in finished for caller in job.needed_by):
        needed = ()
    parts = tuple(replace(part, arrives_on=part.arrival(problem.on)) for part in job.parts)
    job = replace(job, needed_by=needed, parts=parts)
    if job.id in begun:
        # Its parts are in the car and paid for with what was spent so far.
        return replace(job, hours=begun[job.id], parts=(), consumables=(), cost=0)
    return job


def _late(model: Model, ready_on: date | None) -> list[Objective]:
    """Days after the day promised by the earlier plan."""
    if ready_on is None:
        return []
    problem, grid = model.problem, model.grid
    promised = grid.end_slot(max(ready_on, problem.on))
    evening = add_day(model, [job.id for job in problem.jobs if problem.before_ready(job)])
    late = model.cp.new_int_var(0, grid.slots, "")
    model.cp.add_max_equality(late, [0, evening - promised])

    def days(slots: int) -> int:
        if not slots:
            return 0
        return (grid.day_of_end(promised + slots) - max(ready_on, problem.on)).days

    return [Objective("later than promised", "days", late, days)]


def _moved(model: Model, kept: Mapping[str, date]) -> list[Objective]:
    cp, grid = model.cp, model.grid
    moved, shifts = [], []
    for job, day in kept.items():
        made = model.jobs[job]
        first, last = grid.first_slot(day), grid.end_slot(day)
        stays = cp.new_bool_var("")
        if first < last and day >= model.problem.on:
            cp.add_linear_constraint(made.start, first, last - 1).only_enforce_if(stays)
        else:
            cp.add(stays == 0)
        moved.append(1 - stays)
        shift = cp.new_int_var(0, grid.slots, "")
        cp.add_abs_equality(shift, made.start - min(first, grid.slots - 1))
        shifts.append(shift)
    return [
        Objective("jobs moved to another day", "jobs", cp_model.LinearExpr.sum(moved)),
        Objective("moved by", "slots", cp_model.LinearExpr.sum(shifts)),
    ]
