"""What a schedule costs, and how long the car can't be moved, in the constraint model."""

from collections.abc import Sequence

from ortools.sat.python import cp_model

from maintenance.planning.demands import budget_demand
from maintenance.planning.model import Claim, Model
from maintenance.planning.problem import Resource
from maintenance.planning.sharing import claims_on


def add_cost(model: Model) -> cp_model.LinearExprT:
    """Total cost of the plan, kept within the budget.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    Returns
    -------
    LinearExprT
        Cost still to come [minor units]: parts, consumables, outside work, labour and hire.

    Notes
    -----
    Days of hire are bounded from below only; minimising, or the budget, pushes them down to the
    days really used.

    References
    ----------
    .. [1] Common practice.
    """
    terms: list[cp_model.LinearExprT] = []
    for job in model.problem.jobs:
        made = model.jobs[job.id]
        terms.append(job.outlay * made.present)
        for crew, literal in made.crews:
            rate = sum(model.groups[i].cost_per_hour * n for i, n in crew.counts)
            if rate:
                terms.append(round(rate * job.hours) * literal)
    for resource in model.problem.resources:
        if resource.daily_cost:
            terms += _hire(model, resource)
    total = cp_model.LinearExpr.sum(terms)
    problem = model.problem
    if problem.budget is not None:
        literal = model.demand(budget_demand(problem.budget, problem.spent))
        model.cp.add(total + problem.spent <= problem.budget).only_enforce_if(literal)
    return total


def _hire(model: Model, resource: Resource) -> list[cp_model.LinearExprT]:
    claims = [claim for claim, _ in claims_on(model, resource.name)]
    if not claims:
        return []
    if resource.whole_span:
        return [resource.daily_cost * span_days(model, claims)]
    return [days * resource.daily_cost for days in _days_of_use(model, claims)]


def _days_of_use(model: Model, claims: Sequence[Claim]) -> list[cp_model.LinearExprT]:
    """Each working day in use, and the calendar days through which a job keeps the thing."""
    cp, grid = model.cp, model.grid
    count = len(grid.days)
    used = [cp.new_bool_var("") for _ in range(count)]
    bridged = [cp.new_bool_var("") for _ in range(count)]
    for claim in claims:
        begun = [_below(model, claim.start, grid.offsets[i + 1]) for i in range(count)]
        ended = [_below(model, claim.end, grid.offsets[i] + 1) for i in range(count + 1)]
        for i in range(count):
            cp.add_bool_or(~claim.present, ~begun[i], ended[i], used[i])
            cp.add_bool_or(~claim.present, ~begun[i], ended[i + 1], bridged[i])
    idle = [(grid.days[i + 1] - grid.days[i]).days - 1 for i in range(count - 1)]
    nights = [gap * bridge for gap, bridge in zip(idle, bridged, strict=False) if gap]
    return [*used, *nights]


def _below(model: Model, variable: cp_model.IntVar, limit: int) -> cp_model.IntVar:
    """Literal that says whether a variable is below a limit."""
    literal = model.cp.new_bool_var("")
    model.cp.add(variable < limit).only_enforce_if(literal)
    model.cp.add(variable >= limit).only_enforce_if(~literal)
    return literal


def span_days(model: Model, claims: Sequence[Claim]) -> cp_model.IntVar:
    """Calendar days from the first day of any claim to the last day of any.

    Parameters
    ----------
    model : Model
        Gets the constraints.
    claims : sequence of Claim
        At least one.

    Returns
    -------
    IntVar
        Days, both ends included [days]; bounded from below only; may be 0 where no claim takes
        place.

    References
    ----------
    .. [1] Common practice.
    """
    cp, grid = model.cp, model.grid
    begin = [day.toordinal() for i, day in enumerate(grid.days) for _ in range(_length(model, i))]
    finish = [grid.day_of_end(end).toordinal() for end in range(grid.slots + 1)]
    first = cp.new_int_var(0, grid.slots - 1, "")
    last = cp.new_int_var(0, grid.slots, "")
    for claim in claims:
        cp.add(first <= claim.start).only_enforce_if(claim.present)
        cp.add(last >= claim.end).only_enforce_if(claim.present)
    first_day = cp.new_int_var(begin[0], begin[-1], "")
    last_day = cp.new_int_var(finish[0], finish[-1], "")
    cp.add_element(first, begin, first_day)
    cp.add_element(last, finish, last_day)
    days = cp.new_int_var(0, finish[-1] - begin[0] + 1, "")
    for claim in claims:
        cp.add(days >= last_day - first_day + 1).only_enforce_if(claim.present)
    return days


def _length(model: Model, day: int) -> int:
    return model.grid.offsets[day + 1] - model.grid.offsets[day]


def add_immobile(model: Model) -> cp_model.IntVar | None:
    """Days from the first job after which the car can't be moved to the end of the last.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    Returns
    -------
    IntVar or None
        Calendar days [days]; none where no job immobilises the car.

    References
    ----------
    .. [1] Common practice.
    """
    claims: list[Claim] = [model.jobs[job.id] for job in model.problem.jobs if job.immobilises]
    claims += [claim for hold, claim in model.holds if hold.immobilises]
    return span_days(model, claims) if claims else None


def add_day(model: Model, ids: Sequence[str]) -> cp_model.IntVar:
    """Slot that ends the day on which the last of some jobs is finished.

    Parameters
    ----------
    model : Model
        Gets the constraints.
    ids : sequence of str
        The jobs.

    Returns
    -------
    IntVar
        Slot after the last of that day [slots].

    Notes
    -----
    Counting in whole days leaves later objectives the freedom within the day.

    References
    ----------
    .. [1] Common practice.
    """
    evenings = cp_model.Domain.from_values(list(model.grid.offsets[1:]))
    evening = model.cp.new_int_var_from_domain(evenings, "")
    for job in ids:
        made = model.jobs[job]
        model.cp.add(evening >= made.end).only_enforce_if(made.present)
    return evening


def less_value(model: Model, cost: cp_model.LinearExprT) -> cp_model.LinearExpr:
    """Cost less the value of the optional jobs that are done.

    Parameters
    ----------
    model : Model
        The model.
    cost : LinearExprT
        Cost of the plan [minor units].

    Returns
    -------
    LinearExpr
        [minor units]; may be negative.

    References
    ----------
    .. [1] Common practice.
    """
    optional = [job for job in model.problem.jobs if job.id not in model.mandatory]
    values = [-(job.value or 0) * model.jobs[job.id].present for job in optional]
    return cp_model.LinearExpr.sum([cost, *values])
