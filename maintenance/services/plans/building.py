"""A plan's terms, needs and rows as a problem for the planner."""

import datetime
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from maintenance.catalogue.job_rules import job_rules
from maintenance.models import (
    Component,
    PlanJob,
    PlanNeed,
    PlanPart,
    PlanPerson,
    PlanResource,
    RecommissioningPlan,
)
from maintenance.planning.assemblies import AssemblyChoice, choose_assemblies
from maintenance.planning.errors import PlanningError
from maintenance.planning.expand import jobs_for
from maintenance.planning.jobs import Hold, Job, Part, Use
from maintenance.planning.order import Prerequisite, one_day, prerequisites
from maintenance.planning.problem import Problem, Resource
from maintenance.planning.replan import Done
from maintenance.planning.wanted import Fitted
from maintenance.planning.working_calendar import Person, Shift, Span
from maintenance.services.plans.money import minor
from maintenance.services.plans.offers import Priced
from maintenance.services.plans.redo import implied, undone
from maintenance.services.plans.spans import spans
from maintenance.services.plans.terms import WEEKDAYS
from maintenance.services.plans.wishes import wanted_of
from maintenance.services.plans.workshop import booked, resources_of, workshop_of
from maintenance.services.refusals import Problem as Wrong
from maintenance.services.refusals import Refused

#: How long after the deadline the planner looks, to say by when a plan would hold [days].
BEYOND_DEADLINE = 730


@dataclass
class Sheets:
    """All that a plan is made of, saved or not: its terms, what it asks for and its rows."""

    plan: RecommissioningPlan
    people: list[PlanPerson]
    resources: list[PlanResource]
    needs: list[PlanNeed]
    components: list[Component]
    priced: Priced
    measured: Mapping[uuid.UUID, tuple[str, ...]] = field(default_factory=dict)
    jobs: dict[str, PlanJob] = field(default_factory=dict)
    parts: dict[str, list[PlanPart]] = field(default_factory=dict)
    papers: list[str] = field(default_factory=list)

    def done(self) -> list[PlanJob]:
        """Jobs that are finished."""
        return [job for job in self.jobs.values() if job.state == PlanJob.State.DONE]


@dataclass(frozen=True)
class Built:
    """A problem, the jobs of it that are done, and the choices made on the way."""

    problem: Problem
    done: tuple[Done, ...]
    choices: tuple[AssemblyChoice, ...]
    redone: tuple[str, ...]


def build(sheets: Sheets, on: datetime.date) -> Built:
    """Make a problem of a plan as it stands, to be planned from a day on.

    Raises `Refused` where the jobs wait for each other in a ring, naming them.
    """
    rules = job_rules()
    done = [job.key for job in sheets.done()]
    offers = _offers(sheets)
    wanted = wanted_of(sheets.needs, sheets.jobs)
    decided = [one for one in wanted if _decided(one.kind, one.position, sheets)]
    left = [one for one in wanted if one not in decided]
    fitted = [_fitted(component, sheets.measured) for component in sheets.components]
    rate = minor(sheets.plan.rate_per_hour)
    chosen, choices = choose_assemblies(left, rules, offers, rate, fitted)
    shop = workshop_of(sheets.people, sheets.resources)
    expansion = jobs_for([*decided, *chosen], rules, fitted, offers, done, shop)
    try:
        steps = prerequisites(expansion.jobs, rules, expansion.steps)
    except PlanningError as wrong:
        raise Refused([Wrong("", str(wrong))]) from wrong
    redone = undone(steps, expansion.holds, set(done))
    _mark_implied(sheets, implied(steps, expansion.holds, set(done) - redone))
    jobs = tuple(_as_told(job, sheets, redone) for job in expansion.jobs)
    counted = {job.id for job in jobs} - redone
    elsewhere = sum(paid(row) for row in sheets.done() if row.key not in counted)
    problem = replace(_problem(sheets, jobs, steps, expansion.holds, on), spent=elsewhere)
    finished = tuple(_done(row, on) for row in sheets.done() if row.key in counted)
    return Built(problem, finished, choices, tuple(sorted(redone)))


def _fitted(component: Component, measured: Mapping[uuid.UUID, tuple[str, ...]]) -> Fitted:
    return Fitted(
        component=str(component.pk),
        kind=component.kind,
        position=component.position,
        assembly=str(component.assembly_id or ""),
        measured=measured.get(component.pk, ()),
    )


def _mark_implied(sheets: Sheets, told_by: Mapping[str, set[str]]) -> None:
    """Mark what must have been done, with the last day of the jobs that tell."""
    for key, tellers in told_by.items():
        days = [sheets.jobs[one].done_on for one in tellers if one in sheets.jobs]
        if key in sheets.jobs and any(days):
            row = sheets.jobs[key]
            row.state, row.done_on = PlanJob.State.DONE, max(filter(None, days))


def _offers(sheets: Sheets) -> Mapping[tuple[str, str], tuple[Part, ...]]:
    """Parts by place: those of the plan's own rows before those that are on offer."""
    offers = dict(sheets.priced.parts)
    for key, rows in sheets.parts.items():
        job = sheets.jobs[key]
        if rows and job.task == "renew":
            offers[job.kind, job.position] = tuple(part_of(row) for row in rows)
    return offers


def _decided(kind: str, position: str, sheets: Sheets) -> bool:
    """Whether work here has begun, so that no assembly is weighed against its pieces any more."""
    for key, job in sheets.jobs.items():
        if (job.kind, job.position) == (kind, position):
            ordered = any(part.ordered_on for part in sheets.parts.get(key, ()))
            if ordered or job.state == PlanJob.State.DONE:
                return True
    return False


def part_of(row: PlanPart) -> Part:
    """Return a part of the plan as the planner takes it."""
    arrives = row.arrives_on
    if arrives is None and row.ordered_on is not None:
        arrives = row.ordered_on + datetime.timedelta(days=row.lead_days)
    return Part(
        name=row.name,
        price=minor(row.price),
        supplier=row.supplier,
        lead_days=row.lead_days,
        quantity=row.quantity,
        arrives_on=arrives,
        available=row.sold_separately,
    )


def _as_told(job: Job, sheets: Sheets, redone: Iterable[str]) -> Job:
    """A job with what the keeper said of it, and the parts of its own rows."""
    row = sheets.jobs.get(job.id)
    if row is None or job.id in redone:
        return job
    parts = sheets.parts.get(job.id)
    told = replace(
        job,
        hours=job.hours if row.own_hours is None else float(row.own_hours),
        hands=row.own_hands or job.hands,
        who=tuple(row.own_who) or job.who,
        uses=tuple(dict.fromkeys((*job.uses, *map(Use, row.own_uses)))),
        cost=minor(row.other_cost),
        parts=tuple(part_of(part) for part in parts) if parts else job.parts,
    )
    if row.pinned_on is not None:
        use = Use(booked(row.key))
        told = replace(told, not_before=row.pinned_on, uses=(*told.uses, use))
    if job.optional and row.value is not None:
        told = replace(told, value=minor(row.value))
    return told


def _problem(
    sheets: Sheets,
    jobs: tuple[Job, ...],
    steps: tuple[Prerequisite, ...],
    holds: tuple[Hold, ...],
    on: datetime.date,
) -> Problem:
    plan = sheets.plan
    until = max(plan.by, on) + datetime.timedelta(days=BEYOND_DEADLINE)
    pins = [row for row in sheets.jobs.values() if row.pinned_on and row.state != "done"]
    return Problem(
        jobs=jobs,
        steps=steps,
        people=tuple(_person(row) for row in sheets.people),
        on=on,
        calendar_until=until,
        resources=(*resources_of(sheets.resources), *(_pin(row, on, until) for row in pins)),
        holds=holds,
        deadline=plan.by,
        budget=None if plan.budget is None else minor(plan.budget),
        closed=spans(plan.closed),
        one_day=one_day(jobs, job_rules()),
    )


def _person(row: PlanPerson) -> Person:
    shifts = tuple(
        Shift(
            WEEKDAYS.index(hours["weekday"]),
            datetime.time.fromisoformat(hours["begins_at"]),
            datetime.time.fromisoformat(hours["ends_at"]),
        )
        for hours in row.hours
    )
    return Person(row.name, shifts, tuple(row.skills), spans(row.away), minor(row.cost_per_hour))


def _pin(row: PlanJob, on: datetime.date, until: datetime.date) -> Resource:
    """A day that a job is booked for: the one thing that it needs is there on that day alone."""
    day = row.pinned_on or on
    one = datetime.timedelta(days=1)
    shut = (Span(min(on, day - one), day - one), Span(day + one, max(until, day + one)))
    return Resource(booked(row.key), closed=shut)


def _done(row: PlanJob, on: datetime.date) -> Done:
    return Done(row.key, min(row.done_on or on, on), cost=paid(row))


def paid(row: PlanJob) -> int:
    """Return what a finished job cost: what was paid, else its estimate [minor units]."""
    return minor(row.outlay if row.cost_paid is None else row.cost_paid)
