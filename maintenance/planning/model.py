"""The schedule as a constraint model: jobs, order, people, resources, deadline and budget."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from ortools.sat.python import cp_model

from maintenance.planning.crews import Crew, Group, crews_for, groups_of
from maintenance.planning.demands import Demand, deadline_demand, job_demand
from maintenance.planning.jobs import OPEN, Hold, Job, by_id, is_certain
from maintenance.planning.problem import Problem
from maintenance.planning.working_calendar import Grid


@dataclass(slots=True)
class Claim:
    """Time during which something is kept: by a job, or by a hold from job to job.

    Parameters
    ----------
    start, end : IntVar
        First slot, and slot after the last [slots].
    present : IntVar
        Whether it takes place.
    interval : IntervalVar
        The three together.

    References
    ----------
    .. [1] OR-Tools CP-SAT, optional interval variables.
    """

    start: cp_model.IntVar
    end: cp_model.IntVar
    present: cp_model.IntVar
    interval: cp_model.IntervalVar


@dataclass(slots=True)
class JobVars(Claim):
    """A job's claim, and which of its crews does it.

    Parameters
    ----------
    crews : list
        Each crew with the literal that chooses it.

    References
    ----------
    .. [1] OR-Tools CP-SAT, optional interval variables.
    """

    crews: list[tuple[Crew, cp_model.IntVar]] = field(default_factory=list)


@dataclass(slots=True)
class Model:
    """The constraint model of one problem while it is built and solved.

    Parameters
    ----------
    problem, grid, groups
        What it is made from.
    questioned : bool
        Whether every demand can be switched off, to find out which can't hold together.
    cp : CpModel
        The solver's model.
    jobs, holds : dict
        Variables by job id, and by the hold's name and opener.
    demands : list
        Each demand with the literal that switches it on.
    mandatory : frozenset of str
        Ids of the jobs that are done in every plan.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41.
    """

    problem: Problem
    grid: Grid
    groups: tuple[Group, ...]
    questioned: bool = False
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    jobs: dict[str, JobVars] = field(default_factory=dict)
    holds: list[tuple[Hold, Claim]] = field(default_factory=list)
    demands: list[tuple[Demand, cp_model.IntVar]] = field(default_factory=list)
    mandatory: frozenset[str] = frozenset()

    def demand(self, demand: Demand) -> cp_model.IntVar:
        """Literal that switches a demand on; always on unless demands are questioned."""
        literal = self.cp.new_bool_var(f"demand {len(self.demands)}")
        if not self.questioned:
            self.cp.add(literal == 1)
        self.demands.append((demand, literal))
        return literal

    def decisions(self) -> list[cp_model.IntVar]:
        """Variables that make a plan: what is done, when and by whom."""
        made = [one for job in self.jobs.values() for one in (job.present, job.start)]
        return made + [literal for job in self.jobs.values() for _, literal in job.crews]

    def certain(self, job: str) -> bool:
        """Whether a job is done in every plan."""
        return not self.questioned and job in self.mandatory


def job_model(problem: Problem, questioned: bool = False) -> Model:
    """Jobs with their crews, order and last days; resources and costs are added by others.

    Parameters
    ----------
    problem : Problem
        What is asked for.
    questioned : bool
        Whether every demand can be switched off.

    Returns
    -------
    Model
        Without resources, costs and objective.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41.
    """
    grid = problem.grid()
    model = Model(problem, grid, groups_of(problem, grid), questioned)
    known = by_id(problem.jobs)
    model.mandatory = frozenset(job.id for job in problem.jobs if is_certain(job, known))
    for job in problem.jobs:
        model.jobs[job.id] = _job_vars(model, job)
    _add_presence(model)
    _add_order(model)
    _add_holds(model)
    _add_deadline(model)
    return model


def _job_vars(model: Model, job: Job) -> JobVars:
    cp, grid = model.cp, model.grid
    earliest = grid.first_slot(job.earliest_day(model.problem.on))
    crews = [_from(crew, earliest) for crew in crews_for(job, model.groups, grid)]
    crews = [crew for crew in crews if crew.starts]
    present = cp.new_bool_var(f"{job.id} present")
    if not crews:
        cp.add(present == 0)
    starts = sorted({start for crew in crews for start in crew.starts} or {0})
    start = cp.new_int_var_from_domain(cp_model.Domain.from_values(starts), job.id)
    literals = [present] if len(crews) == 1 else [cp.new_bool_var("") for _ in crews]
    if len(crews) > 1:
        cp.add(sum(literals) == present)
        for crew, literal in zip(crews, literals, strict=True):
            domain = cp_model.Domain.from_values(list(crew.starts))
            cp.add_linear_expression_in_domain(start, domain).only_enforce_if(literal)
    size, end = _length(model, job, start, crews, literals)
    interval = cp.new_optional_interval_var(start, size, end, present, job.id)
    return JobVars(start, end, present, interval, list(zip(crews, literals, strict=False)))


def _from(crew: Crew, earliest: int) -> Crew:
    return replace(crew, starts=tuple(start for start in crew.starts if start >= earliest))


def _length(
    model: Model,
    job: Job,
    start: cp_model.IntVar,
    crews: Sequence[Crew],
    literals: Sequence[cp_model.IntVar],
) -> tuple[cp_model.LinearExprT, cp_model.IntVar]:
    """Length and end of a job; a plain number where it is one, which is quicker to search."""
    cp = model.cp
    lengths = sorted({crew.slots for crew in crews} or {model.grid.slots_for(job.hours)})
    end = cp.new_int_var(0, model.grid.slots + lengths[-1], f"{job.id} end")
    if len(lengths) == 1:
        cp.add(end == start + lengths[0])
        return lengths[0], end
    size = cp.new_int_var_from_domain(cp_model.Domain.from_values(lengths), "")
    cp.add(end == start + size)
    for crew, literal in zip(crews, literals, strict=True):
        cp.add(size == crew.slots).only_enforce_if(literal)
    return size, end


def _add_presence(model: Model) -> None:
    """Mandatory jobs are done, but for what another makes needless; one that others call for is
    done exactly if one of them is.
    """
    for job in model.problem.jobs:
        present = model.jobs[job.id].present
        if job.needed_by:
            model.cp.add_max_equality(present, [model.jobs[o].present for o in job.needed_by])
            continue
        instead = [model.jobs[one].present for one in job.unless]
        for other in instead:
            model.cp.add_implication(other, ~present)
        if not job.optional:
            literal = model.demand(job_demand(job, model.problem))
            model.cp.add_bool_or(~literal, present, *instead)


def _add_order(model: Model) -> None:
    for step in model.problem.steps:
        first, then = model.jobs[step.before], model.jobs[step.after]
        earliest: cp_model.LinearExprT = first.end
        if step.lag_days > 0:
            earliest = _after_lag(model, first, step.lag_days)
        rule = model.cp.add(then.start >= earliest)
        if not (model.certain(step.before) and model.certain(step.after)):
            rule.only_enforce_if(first.present, then.present)


def _after_lag(model: Model, first: Claim, lag_days: int) -> cp_model.IntVar:
    """First slot at least `lag_days` calendar days after the day on which a job ends."""
    grid = model.grid
    ordinals = [grid.day_of_end(end).toordinal() + lag_days for end in range(grid.slots + 1)]
    table = [grid.first_slot(type(grid.days[0]).fromordinal(day)) for day in ordinals]
    earliest = model.cp.new_int_var(0, grid.slots, "")
    model.cp.add_element(first.end, table, earliest)
    return earliest


def _add_holds(model: Model) -> None:
    cp = model.cp
    for hold in model.problem.holds:
        closer = model.jobs[hold.closer]
        start, both = cp.new_constant(0), closer.present
        if hold.opener != OPEN:
            start, both = model.jobs[hold.opener].start, cp.new_bool_var("")
            cp.add_min_equality(both, [model.jobs[hold.opener].present, closer.present])
        size = cp.new_int_var(1, model.grid.slots, "")
        interval = cp.new_optional_interval_var(start, size, closer.end, both, hold.name)
        model.holds.append((hold, Claim(start, closer.end, both, interval)))


def _add_deadline(model: Model) -> None:
    problem = model.problem
    if problem.deadline is None:
        return
    literal = model.demand(deadline_demand(problem.deadline))
    limit = model.grid.end_slot(problem.deadline)
    for made in model.jobs.values():
        model.cp.add(made.end <= limit).only_enforce_if(literal, made.present)
