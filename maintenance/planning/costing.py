"""What a finished schedule costs and what must be ordered, worked out from the schedule itself.

The constraint model bounds the cost while it searches; these figures are counted afresh from the
days on which things happen, so that each checks the other.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from maintenance.planning.jobs import OPEN, Hold
from maintenance.planning.outcome import Costs, PartOrder, PlannedJob
from maintenance.planning.problem import Problem, Resource


def costs_of(problem: Problem, jobs: Sequence[PlannedJob]) -> Costs:
    """Cost of a schedule by sort, supplier and system.

    Parameters
    ----------
    problem : Problem
        What was asked for.
    jobs : sequence of PlannedJob
        The schedule.

    Returns
    -------
    Costs
        [minor units].

    References
    ----------
    .. [1] Common practice.
    """
    rates = {person.name: person.cost_per_hour for person in problem.people}
    by_supplier: Counter[str] = Counter()
    by_system: Counter[str] = Counter()
    labour = 0
    for planned in jobs:
        job = planned.job
        work = round(sum(rates[name] for name in planned.people) * job.hours)
        labour += work
        by_system[job.system] += job.outlay + work
        for part in job.parts:
            by_supplier[part.supplier] += part.total
    used_up = sum(item.cost for planned in jobs for item in planned.job.consumables)
    return Costs(
        parts=sum(by_supplier.values()),
        consumables=used_up,
        outside_work=sum(planned.job.cost for planned in jobs),
        labour=labour,
        hire=sum(_hire(problem, resource, jobs) for resource in problem.resources),
        by_supplier=dict(by_supplier),
        by_system=dict(by_system),
    )


def _hire(problem: Problem, resource: Resource, jobs: Sequence[PlannedJob]) -> int:
    spans = list(spans_of(problem, jobs, resource.name))
    if not resource.daily_cost or not spans:
        return 0
    if resource.whole_span:
        days = (max(last for _, last in spans) - min(first for first, _ in spans)).days + 1
    else:
        days = len({day for first, last in spans for day in _days(first, last)})
    return resource.daily_cost * days


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def spans_of(
    problem: Problem, jobs: Sequence[PlannedJob], resource: str
) -> Iterable[tuple[date, date]]:
    """First and last day of each use of a resource.

    Parameters
    ----------
    problem : Problem
        What was asked for.
    jobs : sequence of PlannedJob
        The schedule.
    resource : str
        Name of the resource.

    Yields
    ------
    (date, date)
        Both included.

    References
    ----------
    .. [1] Common practice.
    """
    for planned in jobs:
        if any(use.resource == resource for use in planned.job.uses):
            yield planned.start.day, planned.end.day
    held = [h for h in problem.holds if any(use.resource == resource for use in h.uses)]
    yield from _held(problem, held, jobs)


def _held(
    problem: Problem, holds: Iterable[Hold], jobs: Sequence[PlannedJob]
) -> Iterable[tuple[date, date]]:
    planned = {one.job.id: one for one in jobs}
    for hold in holds:
        if hold.closer not in planned:
            continue
        if hold.opener == OPEN:
            yield problem.grid().days[0], planned[hold.closer].end.day
        elif hold.opener in planned:
            yield planned[hold.opener].start.day, planned[hold.closer].end.day


def immobile_days(problem: Problem, jobs: Sequence[PlannedJob]) -> int:
    """Calendar days from the first job that immobilises the car to the end of the last.

    Parameters
    ----------
    problem : Problem
        What was asked for.
    jobs : sequence of PlannedJob
        The schedule.

    Returns
    -------
    int
        [days]; 0 where nothing immobilises it.

    References
    ----------
    .. [1] Common practice.
    """
    spans = [(p.start.day, p.end.day) for p in jobs if p.job.immobilises]
    spans += _held(problem, [hold for hold in problem.holds if hold.immobilises], jobs)
    if not spans:
        return 0
    return (max(last for _, last in spans) - min(first for first, _ in spans)).days + 1


def orders_of(jobs: Sequence[PlannedJob]) -> tuple[PartOrder, ...]:
    """Parts of a schedule with the last day to order each.

    Parameters
    ----------
    jobs : sequence of PlannedJob
        The schedule.

    Returns
    -------
    tuple of PartOrder
        The most urgent first; parts already ordered last.

    References
    ----------
    .. [1] Common practice.
    """
    orders = [
        PartOrder(part, planned.job.name, planned.start.day, part.order_by(planned.start.day))
        for planned in jobs
        for part in planned.job.parts
    ]
    return tuple(sorted(orders, key=lambda order: (order.order_by or date.max, order.part.name)))
