"""With whom and what a plan's work is done: people at one time, stands, lift, tools, a place."""

from collections.abc import Iterable, Iterator, Sequence

from maintenance.catalogue.job_rules import job_rules
from maintenance.models import PlanJob, PlanPerson, PlanResource
from maintenance.planning.problem import ANY_NUMBER, Problem, Resource
from maintenance.planning.wanted import Workshop
from maintenance.services.plans.money import minor
from maintenance.services.plans.spans import spans
from maintenance.services.plans.terms import WEEKDAYS

_BOOKED = "the day booked for "


def workshop_of(people: Iterable[PlanPerson], resources: Iterable[PlanResource]) -> Workshop:
    """Return what the people and resources of a plan say about how its work is done."""
    resources = list(resources)
    return Workshop(
        people_at_once=_at_once(people),
        resources=frozenset(row.name for row in resources),
        used_for={row.name: tuple(row.used_for) for row in resources if row.used_for},
    )


def _at_once(people: Iterable[PlanPerson]) -> int:
    """Most people whose weekly hours overlap at any time; days off are not looked at."""
    hours = [(one["weekday"], one["begins_at"], one["ends_at"]) for p in people for one in p.hours]
    return max(
        (
            sum(1 for day, begin, end in hours if day == weekday and begin <= at < end)
            for weekday, at, _ in hours
        ),
        default=0,
    )


def resources_of(rows: Sequence[PlanResource]) -> list[Resource]:
    """Return what the keeper has or hires, and the usual number of what a workshop has besides."""
    named = {row.name for row in rows}
    usual = [
        Resource(row.name, row.capacity)
        for row in job_rules().resources
        if row.name not in named and row.capacity
    ]
    housing = {row.name for row in job_rules().resources if row.houses_car}
    return [_resource(row, housing) for row in rows] + usual


def _resource(row: PlanResource, housing: set[str]) -> Resource:
    return Resource(
        row.name,
        ANY_NUMBER if row.name in housing else row.capacity,
        minor(row.daily_cost),
        row.whole_span,
        tuple(WEEKDAYS.index(day) for day in row.weekdays),
        spans(row.closed),
    )


def booked(key: str) -> str:
    """Return the name of the resource that keeps a job on its day."""
    return f"{_BOOKED}{key}"


def shown_uses(names: Iterable[str]) -> list[str]:
    """Return the names of resources without those that stand for booked days."""
    return [name for name in names if not name.startswith(_BOOKED)]


def unused(problem: Problem, rows: Iterable[PlanResource]) -> Iterator[str]:
    """Tell of what the keeper named and no job of the plan uses."""
    uses = [use for job in problem.jobs for use in job.uses]
    uses += [use for hold in problem.holds for use in hold.uses]
    used = {use.resource for use in uses}
    for row in rows:
        if row.name not in used:
            yield f"No job of this plan uses {row.name!r}, so nothing is paid for it."


def own_use_problems(job: PlanJob) -> Iterator[str]:
    """Tell which of the resources that the keeper gives a job the plan does not have."""
    usual = [row.name for row in job_rules().resources if row.capacity]
    known = [*(row.name for row in job.plan.resources.all()), *usual]
    for name in job.own_uses:
        if name not in known:
            yield f"{name!r} is not among the plan's resources; there are: {', '.join(known)}"
