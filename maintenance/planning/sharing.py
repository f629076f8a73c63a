"""People and resources in the constraint model: nobody and nothing is in two places at once."""

from collections.abc import Iterable

from ortools.sat.python import cp_model

from maintenance.planning.demands import people_demand, resource_demand
from maintenance.planning.jobs import Use
from maintenance.planning.model import Claim, Model
from maintenance.planning.problem import Resource


def add_people(model: Model) -> None:
    """Let every person do one job at a time.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41: cumulative resources.
    """
    for index, group in enumerate(model.groups):
        intervals: list[cp_model.IntervalVar] = []
        amounts: list[int] = []
        for made in model.jobs.values():
            for crew, literal in made.crews:
                count = dict(crew.counts).get(index, 0)
                if count:
                    alone = len(made.crews) == 1
                    intervals.append(made.interval if alone else _part(model, made, literal))
                    amounts.append(count)
        if intervals:
            literal = model.demand(people_demand(group.names))
            _add_capacity(model, intervals, amounts, len(group.names), literal)


def _part(model: Model, made: Claim, literal: cp_model.IntVar) -> cp_model.IntervalVar:
    size = made.interval.size_expr()
    return model.cp.new_optional_interval_var(made.start, size, made.end, literal, "")


def add_resources(model: Model) -> None:
    """Let every resource be used only so often at a time, and only when it can be had.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41: cumulative resources.
    """
    for resource in model.problem.resources:
        claims = list(claims_on(model, resource.name))
        if claims:
            intervals = [claim.interval for claim, _ in claims] + _shut(model, resource)
            amounts = [amount for _, amount in claims]
            if len(intervals) == len(claims) and sum(amounts) <= resource.capacity:
                continue
            amounts += [resource.capacity] * (len(intervals) - len(amounts))
            literal = model.demand(resource_demand(resource))
            _add_capacity(model, intervals, amounts, resource.capacity, literal)


def claims_on(model: Model, resource: str) -> Iterable[tuple[Claim, int]]:
    """All claims on a resource with their amounts, jobs' before holds'.

    Parameters
    ----------
    model : Model
        The model.
    resource : str
        Name of the resource.

    Yields
    ------
    (Claim, int)
        The claim and how many it takes [pieces].

    References
    ----------
    .. [1] Common practice.
    """
    for job in model.problem.jobs:
        if amount := _amount(job.uses, resource):
            yield model.jobs[job.id], amount
    for hold, claim in model.holds:
        if amount := _amount(hold.uses, resource):
            yield claim, amount


def _amount(uses: tuple[Use, ...], resource: str) -> int:
    return sum(use.amount for use in uses if use.resource == resource)


def _shut(model: Model, resource: Resource) -> list[cp_model.IntervalVar]:
    """Days on which a resource can't be had, as intervals that take all of it."""
    grid = model.grid
    return [
        model.cp.new_fixed_size_interval_var(
            grid.offsets[index], grid.offsets[index + 1] - grid.offsets[index], ""
        )
        for index, day in enumerate(grid.days)
        if not resource.open_on(day)
    ]


def _add_capacity(
    model: Model,
    intervals: list[cp_model.IntervalVar],
    amounts: list[int],
    capacity: int,
    literal: cp_model.IntVar,
) -> None:
    if not model.questioned:
        if capacity == 1:
            model.cp.add_no_overlap(intervals)
        else:
            model.cp.add_cumulative(intervals, amounts, capacity)
        return
    # With the demand switched off there is room for everything at once.
    room = sum(amounts)
    model.cp.add_cumulative(intervals, amounts, room - (room - capacity) * literal)
