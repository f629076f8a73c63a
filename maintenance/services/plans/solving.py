"""Ask the planner, within its time, and say what it says."""

import datetime
from dataclasses import replace

from maintenance.planning.conflict import Conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.outcome import Costs, Plan, PlannedJob
from maintenance.planning.problem import Problem, Settings
from maintenance.planning.replan import Done, replan
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.working_calendar import Moment
from maintenance.services.plans.building import Built, Sheets
from maintenance.services.plans.outcome import put_into_rows
from maintenance.services.plans.result import result_of
from maintenance.services.refusals import Problem as Wrong
from maintenance.services.refusals import Refused

_NO_COSTS = Costs(0, 0, 0, 0, 0, {}, {})


def solve(sheets: Sheets, built: Built, *, on: datetime.date, anew: bool) -> None:
    """Plan, and bring rows, state and result of the sheets up to the answer; nothing is saved.

    `on` is the first day on which something may still be done, which may be long after today.
    `anew` plans from nothing; else jobs stay as near to their days as they can. Takes up to the
    plan's time limit, and as long again where the demands can't hold, to say why and what would.
    Raises `Refused` where what is asked contradicts itself.
    """
    settings = Settings(seed=sheets.plan.seed, seconds=float(sheets.plan.time_limit))
    earlier = None if anew else _earlier(sheets, built)
    try:
        answer = _ask(built.problem, earlier, built.done, on, settings)
        nearest = None
        if isinstance(answer, Conflict):
            nearest = _nearest(built, on, settings)
    except PlanningError as wrong:
        raise Refused([Wrong("", str(wrong))]) from wrong
    impossible = isinstance(answer, Conflict)
    # Where the demands can't hold, work goes on by the plan that gives deadline and budget up.
    put_into_rows(sheets, built, nearest if isinstance(answer, Conflict) else answer)
    plan = sheets.plan
    plan.state = plan.State.IMPOSSIBLE if impossible else plan.State.PLANNED
    plan.result = result_of(sheets, built, answer, nearest)


def _ask(
    problem: Problem,
    earlier: Plan | None,
    done: tuple[Done, ...],
    on: datetime.date,
    settings: Settings,
) -> Plan | Conflict:
    if earlier is None and not done:
        return plan_schedule(problem, settings)
    return replan(problem, earlier or _plan_of((), None), done, on, settings)


def _nearest(built: Built, on: datetime.date, settings: Settings) -> Plan | None:
    """What could be had without deadline and budget; none where that is no help either."""
    free = replace(built.problem, deadline=None, budget=None)
    found = _ask(free, None, built.done, on, _half(settings))
    return found if isinstance(found, Plan) else None


def _half(settings: Settings) -> Settings:
    return replace(settings, effort=settings.effort / 2, seconds=settings.seconds / 2)


def _earlier(sheets: Sheets, built: Built) -> Plan | None:
    """The plan to stay near to, as the rows have it."""
    jobs = {job.id: job for job in built.problem.jobs}
    kept = tuple(
        PlannedJob(
            jobs[key],
            Moment(row.starts_on, row.starts_at or datetime.time()),
            Moment(row.ends_on or row.starts_on, row.ends_at or datetime.time()),
            0,
            0,
        )
        for key, row in sheets.jobs.items()
        if key in jobs and row.starts_on is not None and row.state == row.State.PLANNED
    )
    ready = sheets.plan.result.get("ready_on")
    return _plan_of(kept, datetime.date.fromisoformat(ready) if ready else None) if kept else None


def _plan_of(jobs: tuple[PlannedJob, ...], ready_on: datetime.date | None) -> Plan:
    return Plan(jobs, (), ready_on, None, _NO_COSTS, (), 0, ())
