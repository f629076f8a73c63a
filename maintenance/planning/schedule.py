"""The recommissioning schedule: every safety job, ready early, cheap, soon on its wheels."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from ortools.sat.python import cp_model

from maintenance.planning.bounds import end_bound
from maintenance.planning.conflict import Conflict, smallest_conflict
from maintenance.planning.costing import costs_of, immobile_days, orders_of
from maintenance.planning.crews import Crew
from maintenance.planning.demands import Demand
from maintenance.planning.jobs import Job
from maintenance.planning.model import Model, job_model
from maintenance.planning.one_day import add_one_day
from maintenance.planning.order import before
from maintenance.planning.outcome import TIDY, Plan, PlannedJob, Stage
from maintenance.planning.outlays import add_cost, add_day, add_immobile, less_value
from maintenance.planning.problem import Problem, Settings, checked
from maintenance.planning.serial import sampled_schedule, serial_schedule
from maintenance.planning.sharing import add_people, add_resources
from maintenance.planning.slack import float_days
from maintenance.planning.solving import Objective, Reached, minimise_in_turn
from maintenance.planning.taken import add_car
from maintenance.planning.wishes import as_asked, with_wishes

#: Days beyond the end of the serial scheme's plan that are still looked at [days].
DAYS_BEYOND = 8
#: Part of the clock's time for each of the two ways to find out why there is no plan.
WHY_SHARE = 0.25

Objectives = Callable[[Model], list[Objective]]


def plan_schedule(
    problem: Problem,
    settings: Settings | None = None,
    first_objectives: Objectives | None = None,
) -> Plan | Conflict:
    """Plan who does what when.

    Parameters
    ----------
    problem : Problem
        Jobs, people, resources, deadline and budget.
    settings : Settings, optional
        Seed and effort.
    first_objectives : callable, optional
        Objectives that come before the usual ones.

    Returns
    -------
    Plan or Conflict
        A plan that keeps every demand; or the smallest set of demands that can't hold together.

    Raises
    ------
    PlanningError
        Where the problem makes no sense, or the effort was too small for an answer.

    Notes
    -----
    Every job that is not optional is done, so every safety job is. Then, each kept while the
    next is improved: the number of wishes left out, the day on which the car is ready for
    inspection, the day on which the remaining jobs are finished, the cost less the value of
    optional jobs done, the days with the car immobile, early starts. A wish may come after the
    day on which the car is ready. The same problem and settings give the same plan.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), Resource-constrained project scheduling, EJOR 112, 3-41.
    .. [2] OR-Tools CP-SAT.
    """
    settings = settings or Settings()
    asked = _with_near_horizon(checked(problem))
    problem = with_wishes(asked)
    model = _whole(problem)
    cost = add_cost(model)
    objectives = _wishes(model)
    objectives += first_objectives(model) if first_objectives else []
    objectives += _objectives(model, cost)
    _hint_serial(model, settings)
    reached = minimise_in_turn(model.cp, objectives, settings, model.decisions())
    if reached is None:
        return _conflict(problem, settings)
    return as_asked(_plan(model, objectives, reached), asked)


def _with_near_horizon(problem: Problem) -> Problem:
    """Look no further than the serial scheme needs for everything, and a good week.

    A year of empty evenings makes the search slow and no plan better.
    """
    placed = serial_schedule(problem, with_optional=True)
    if not placed:
        return problem
    last = problem.grid().day_of_end(max(at.end for at in placed.values()))
    until = min(problem.calendar_until, last + timedelta(days=DAYS_BEYOND))
    return replace(problem, calendar_until=until)


def _whole(problem: Problem, questioned: bool = False) -> Model:
    model = job_model(problem, questioned)
    add_people(model)
    add_resources(model)
    add_car(model)
    add_one_day(model)
    return model


def _objectives(model: Model, cost: cp_model.LinearExprT) -> list[Objective]:
    problem, grid = model.problem, model.grid

    def days(slot: int) -> int:
        return (grid.day_of_end(slot) - problem.on).days

    to_be_ready = [job for job in problem.jobs if problem.before_ready(job)]
    chosen = [Objective("ready for inspection", "days", _evening(model, to_be_ready), days)]
    whole = [job for job in problem.jobs if problem.must_be_done(job)]
    if len(whole) > len(to_be_ready):
        chosen.append(Objective("finished", "days", _evening(model, whole), days, most=0.2))
    worth = any(job.value for job in problem.jobs if job.optional)
    name = "cost less the worth of optional jobs" if worth else "cost"
    chosen.append(Objective(name, "minor units", less_value(model, cost)))
    immobile = add_immobile(model)
    if immobile is not None:
        chosen.append(Objective("car immobile", "days", immobile))
    ends = cp_model.LinearExpr.sum([made.end for made in model.jobs.values()])
    return [*chosen, Objective(TIDY, "slots", ends, most=0.1)]


def _wishes(model: Model) -> list[Objective]:
    left_out = [1 - model.jobs[job.id].present for job in model.problem.jobs if job.is_wish]
    if not left_out:
        return []
    return [Objective("wishes left out", "jobs", cp_model.LinearExpr.sum(left_out))]


def _evening(model: Model, jobs: Sequence[Job]) -> cp_model.IntVar:
    """Slot that ends the day on which the last of some jobs is finished, bounded from below."""
    evening = add_day(model, [job.id for job in jobs])
    model.cp.add(evening >= _bound(model, jobs))
    return evening


def _bound(model: Model, jobs: Sequence[Job]) -> int:
    steps = model.problem.steps
    first = {other for job in jobs for other in before(job.id, steps, model.certain)}
    first &= model.mandatory
    ids = first | {job.id for job in jobs} & model.mandatory
    jobs = [job for job in model.problem.jobs if job.id in ids]
    crews = {job: tuple(crew for crew, _ in made.crews) for job, made in model.jobs.items()}
    return end_bound(model.problem, model.grid, model.groups, crews, jobs)


def _hint_serial(model: Model, settings: Settings) -> None:
    """Start the search from the best plan of the serial scheme, where that finds one."""
    problem = model.problem
    bound = _bound(model, [job for job in problem.jobs if problem.before_ready(job)])
    enough = next((slot for slot in model.grid.offsets if slot >= bound), bound)
    placed = sampled_schedule(problem, settings.samples, settings.seed, enough)
    if placed is None:
        return
    for job, made in model.jobs.items():
        model.cp.add_hint(made.present, job in placed)
        if job in placed:
            model.cp.add_hint(made.start, placed[job].start)
            model.cp.add_hint(made.end, placed[job].end)
            for crew, literal in made.crews:
                if len(made.crews) > 1:
                    model.cp.add_hint(literal, _same(crew, placed[job].crew))


def _same(one: Crew, other: Crew) -> bool:
    return (one.counts, one.slots) == (other.counts, other.slots)


def _conflict(problem: Problem, settings: Settings) -> Conflict:
    model = _whole(problem, questioned=True)
    add_cost(model)
    found = []
    settings = replace(settings, seconds=settings.seconds * WHY_SHARE)
    for key in (_by_hours, _by_outlay):
        demands = sorted(model.demands, key=lambda pair: key(pair[0], problem))  # noqa: B023
        found.append(smallest_conflict(model.cp, demands, settings))
    return min(found, key=lambda conflict: (not conflict.smallest, len(conflict.demands)))


_EASIEST_TO_DROP = {"people": 0, "resource": 0, "job": 1, "budget": 2, "deadline": 2}


def _by_hours(demand: Demand, problem: Problem) -> tuple[int, float]:
    """Question short jobs first, so that few long ones remain to be named."""
    hours = {job.id: job.hours for job in problem.jobs}
    return _EASIEST_TO_DROP[demand.kind], hours.get(demand.subject, 0.0)


def _by_outlay(demand: Demand, problem: Problem) -> tuple[int, float]:
    """Question cheap jobs first, so that few dear ones remain to be named."""
    outlay = {job.id: float(job.outlay) for job in problem.jobs}
    return _EASIEST_TO_DROP[demand.kind], outlay.get(demand.subject, 0.0)


def _plan(model: Model, objectives: Sequence[Objective], reached: Reached) -> Plan:
    jobs, crews = _planned(model, reached.values)
    problem = model.problem
    ends = [planned.end.day for planned in jobs if problem.before_ready(planned.job)]
    ready = max(ends, default=None)
    limit = model.grid.end_slot(ready) if ready else model.grid.slots
    floats = float_days(model, jobs, crews, limit)
    jobs = tuple(replace(planned, float_days=floats[planned.job.id]) for planned in jobs)
    done = {planned.job.id for planned in jobs}
    stages = tuple(
        Stage(o.name, o.unit, o.tell(value), o.tell(bound))
        for o, (value, bound) in zip(objectives, reached.results, strict=True)
    )
    return Plan(
        jobs=jobs,
        left_out=tuple(j for j in problem.jobs if j.id not in done and not done & {*j.unless}),
        ready_on=ready,
        finished_on=max((planned.end.day for planned in jobs), default=None),
        costs=costs_of(problem, jobs),
        orders=orders_of(jobs),
        immobile_days=immobile_days(problem, jobs),
        stages=stages,
        cut_short=reached.cut_short,
    )


def _planned(model: Model, values: Sequence[int]) -> tuple[tuple[PlannedJob, ...], dict[str, Crew]]:
    """Read the schedule out of the solver's values and name the people."""
    crews: dict[str, Crew] = {}
    times: dict[str, tuple[int, int]] = {}
    for job, made in model.jobs.items():
        if values[made.present.index]:
            times[job] = values[made.start.index], values[made.end.index]
            chosen = [c for c, literal in made.crews if values[literal.index]]
            crews[job] = chosen[0]
    people = _people(model, times, crews)
    grid = model.grid
    jobs = [
        PlannedJob(job, grid.start_moment(s), grid.end_moment(e), s, e, people[job.id])
        for job in model.problem.jobs
        if job.id in times
        for s, e in [times[job.id]]
    ]
    return tuple(sorted(jobs, key=lambda p: (p.start_slot, p.end_slot, p.job.id))), crews


def _people(
    model: Model, times: Mapping[str, tuple[int, int]], crews: Mapping[str, Crew]
) -> dict[str, tuple[str, ...]]:
    """Name the members of each crew: in the order of starts there is always somebody free."""
    free_from = {name: 0 for group in model.groups for name in group.names}
    named: dict[str, tuple[str, ...]] = {}
    for job in sorted(times, key=lambda job: (times[job], job)):
        start, end = times[job]
        members: list[str] = []
        for index, count in crews[job].counts:
            names = [n for n in model.groups[index].names if free_from[n] <= start]
            members += names[:count]
        free_from |= dict.fromkeys(members, end)
        named[job] = tuple(members)
    return named
