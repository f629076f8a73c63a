"""The planner's answer as rows of jobs and parts, to be saved or only shown."""

import datetime
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from maintenance.models import Component, PlanJob, PlanPart
from maintenance.planning.jobs import Job, Part
from maintenance.planning.outcome import Plan, PlannedJob
from maintenance.services.plans.building import Built, Sheets
from maintenance.services.plans.money import major
from maintenance.services.plans.workshop import shown_uses


def put_into_rows(sheets: Sheets, built: Built, answer: Plan | None) -> None:
    """Bring the rows of a plan up to an answer of the planner, none where it has none.

    A job that has to be done once more keeps its finished row under a key of its own and gets a
    new one. Rows of jobs that nobody asks for any more are taken out, finished ones apart.
    """
    for key in built.redone:
        _put_aside(sheets, key)
    known = {job.id for job in built.problem.jobs}
    for key in [k for k, row in sheets.jobs.items() if k not in known and not _finished(row)]:
        del sheets.jobs[key]
        sheets.parts.pop(key, None)
    components = {str(component.pk): component for component in sheets.components}
    for job in built.problem.jobs:
        row = sheets.jobs.setdefault(job.id, _new_row(sheets, job))
        if not _finished(row):
            _describe(row, job, components.get(job.component))
            _keep_parts(sheets, row, job.parts)
    planned = {one.job.id: one for one in answer.jobs} if answer else {}
    _schedule(sheets, planned, impossible=answer is None)


def _finished(row: PlanJob) -> bool:
    return row.state == PlanJob.State.DONE


def _put_aside(sheets: Sheets, key: str) -> None:
    row = sheets.jobs.pop(key)
    times = sum(1 for other in sheets.jobs if other.startswith(f"{key}, done "))
    row.key = f"{key}, done {row.done_on}" + (f" ({times + 1})" if times else "")
    sheets.jobs[row.key] = row
    sheets.parts[row.key] = sheets.parts.pop(key, [])


def _new_row(sheets: Sheets, job: Job) -> PlanJob:
    plan = sheets.plan
    return PlanJob(plan=plan, collection_id=plan.collection_id, key=job.id, optional=job.optional)


def _describe(row: PlanJob, job: Job, component: Component | None) -> None:
    row.component = component
    for name in ("kind", "position", "task", "system", "phase", "criticality", "reason", "hands"):
        setattr(row, name, getattr(job, name))
    row.optional = job.optional
    row.who = list(job.who)
    row.uses = shown_uses(use.resource for use in job.uses)
    row.consumables = [item.name for item in job.consumables]
    row.cautions, row.sheet_fields = list(job.cautions), list(job.sheet_fields)
    row.clears = list(job.clears)
    row.hours = Decimal(str(job.hours)).quantize(Decimal("0.01"))
    row.outlay = major(job.outlay)


def _keep_parts(sheets: Sheets, row: PlanJob, parts: Sequence[Part]) -> None:
    """Give a job without parts of its own those that the planner reckoned with."""
    if sheets.parts.get(row.key):
        return
    numbers = sheets.priced.numbers
    sheets.parts[row.key] = [
        PlanPart(
            plan=sheets.plan,
            job=row,
            collection_id=row.collection_id,
            name=part.name,
            part_number=numbers.get((row.kind, row.position, part.name), ""),
            supplier=part.supplier,
            price=major(part.price),
            quantity=part.quantity,
            lead_days=part.lead_days,
            sold_separately=part.available,
        )
        for part in parts
    ]


def _schedule(sheets: Sheets, planned: dict[str, PlannedJob], *, impossible: bool) -> None:
    order = sorted(planned.values(), key=lambda one: (one.start_slot, one.end_slot, one.job.id))
    place = {one.job.id: number for number, one in enumerate(order, start=1)}
    for key, row in sheets.jobs.items():
        if not _finished(row):
            _set_times(row, planned.get(key), impossible=impossible)
            row.sequence = place.get(key, len(place) + 1)
        for part in sheets.parts.get(key, ()):
            _set_order(part, row)


def _set_times(row: PlanJob, at: PlannedJob | None, *, impossible: bool) -> None:
    row.starts_on = at.start.day if at else None
    row.starts_at = at.start.at if at else None
    row.ends_on = at.end.day if at else None
    row.ends_at = at.end.at if at else None
    row.people = list(at.people) if at else []
    row.float_days = at.float_days if at else None
    unplanned = PlanJob.State.WAITING if impossible else PlanJob.State.LEFT_OUT
    row.state = PlanJob.State.PLANNED if at else unplanned


def _set_order(part: PlanPart, row: PlanJob) -> None:
    part.needed_on = row.starts_on
    part.order_by = None
    ordered = part.ordered_on is not None or part.arrives_on is not None
    if row.starts_on is not None and not ordered and not _finished(row):
        part.order_by = row.starts_on - datetime.timedelta(days=part.lead_days)


def in_order(sheets: Sheets) -> list[PlanJob]:
    """Return the jobs of a plan: finished ones by day, then the others as they are planned."""

    def place(row: PlanJob) -> tuple[Any, ...]:
        if _finished(row):
            return (0, row.done_on, row.sequence, row.key)
        return (1, row.starts_on or datetime.date.max, row.sequence, row.key)

    return sorted(sheets.jobs.values(), key=place)
