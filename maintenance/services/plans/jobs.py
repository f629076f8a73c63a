"""Change a plan's jobs and parts, add what the keeper wants, and record jobs as done."""

import datetime
import logging
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.db import IntegrityError, OperationalError, transaction

from maintenance.engine.columns import ACTIONS
from maintenance.models import (
    Account,
    Component,
    PlanJob,
    PlanNeed,
    PlanPart,
    RecommissioningPlan,
    ServiceEvent,
)
from maintenance.models.base import new_id
from maintenance.planning.jobs import APPEARANCE, RELIABILITY, SAFETY
from maintenance.services.checks.figures import money_problems, number_problems, text_problems
from maintenance.services.checks.plans import wish_problems
from maintenance.services.drafts import EntryDraft, Place, ServiceEventDraft
from maintenance.services.plans.needs import INSPECTION_TASK, RE_INSPECTION_TASK
from maintenance.services.plans.stored import mark_changed, plan_again
from maintenance.services.plans.terms import DoneDraft, WishDraft
from maintenance.services.plans.wording import name_of
from maintenance.services.plans.workshop import own_use_problems
from maintenance.services.refusals import Outdated, Problem, Refused, refuse_if_any
from maintenance.services.service_events import record_service_event
from maintenance.services.versions import locked_at

_log = logging.getLogger(__name__)

MOST_HOURS = Decimal(1000)
MOST_HANDS = 10
_TESTS = (INSPECTION_TASK, RE_INSPECTION_TASK)


@transaction.atomic
def change_job(
    *, job: PlanJob, version: int, changes: Mapping[str, Any], today: datetime.date
) -> PlanJob:
    """Change what the keeper says of a job; the plan is to be planned again.

    Refused: a finished job, a safety job made optional, hours or money out of range, and a day
    that is past.
    """
    mark_changed(job.plan)
    row = locked_at(job, version)
    for name, value in changes.items():
        setattr(row, name, value)
    refuse_if_any(_job_problems(row, changes, today))
    row.save()
    return row


def _job_problems(
    row: PlanJob, changes: Mapping[str, Any], today: datetime.date
) -> Iterator[Problem]:
    if row.state == PlanJob.State.DONE:
        yield Problem("", "is done; correct the service event, or what it took")
    if row.own_hours is not None and row.own_hours <= 0:
        yield Problem("/own_hours", "must be more than 0, or empty for the catalogue's hours")
    yield from number_problems(
        "/own_hours", row.own_hours, decimals=2, below=MOST_HOURS, unit="hours"
    )
    if row.own_hands is not None and not 1 <= row.own_hands <= MOST_HANDS:
        text = f"{row.own_hands} is out of range; give 1 to {MOST_HANDS} people, or empty"
        yield Problem("/own_hands", text)
    if "own_uses" in changes:
        yield from (Problem("/own_uses", text) for text in own_use_problems(row))
    yield from money_problems("/other_cost", row.other_cost)
    yield from money_problems("/value", row.value)
    if row.optional and row.criticality == SAFETY:
        yield Problem("/optional", "a safety job is never left out; take this back")
    if changes.get("pinned_on") is not None and changes["pinned_on"] < today:
        yield Problem("/pinned_on", f"{row.pinned_on} is before today, {today}")


@transaction.atomic
def add_wish(*, plan: RecommissioningPlan, draft: WishDraft) -> RecommissioningPlan:
    """Add a piece of work that the keeper wants; it becomes a job at the next planning.

    It may be left out where time or money is short. Refused: an unknown kind or task, and a
    component that the car does not have.
    """
    problems = list(wish_problems(draft.kind, draft.task))
    problems += text_problems("/reason", draft.reason, longest=2000)
    found = Component.objects.filter(
        vehicle=plan.vehicle_id, kind=draft.kind, position=draft.position
    ).first()
    if found is None and not problems:
        place = f"{draft.kind} {draft.position}".strip()
        problems.append(Problem("/kind", f"the car has no {place}; add the component first"))
    refuse_if_any(problems)
    mark_changed(plan)
    PlanNeed.objects.create(
        plan=plan,
        collection_id=plan.collection_id,
        origin=PlanNeed.Origin.KEEPER,
        origin_key=f"wish:{new_id()}",
        component=found,
        kind=draft.kind,
        position=draft.position,
        task=draft.task,
        criticality=APPEARANCE if draft.task in ("clean", "refinish") else RELIABILITY,
        reason=draft.reason or "wanted by the keeper",
    )
    return plan


@transaction.atomic
def mark_done(
    *,
    job: PlanJob,
    draft: DoneDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> PlanJob:
    """Record a job as a service event, as any work is recorded, and mark it done.

    The plan is to be planned again. Refused as a service event is, and: a job that is done
    already, an inspection (which is recorded as one), and hours out of range.
    """
    plan = mark_changed(job.plan)
    row = PlanJob.objects.select_for_update(no_key=True).get(pk=job.pk)
    refuse_if_any(_done_problems(row, draft))
    event = record_service_event(
        vehicle=plan.vehicle, draft=_event(row, plan, draft), by=by, at=at, today=today
    )
    _finish(row, draft, event)
    return row


def _done_problems(row: PlanJob, draft: DoneDraft) -> Iterator[Problem]:
    if row.state == PlanJob.State.DONE:
        yield Problem("", f"is done since {row.done_on}")
    if row.task in _TESTS:
        yield Problem(
            "", "record the inspection under inspections; the plan takes it from there, and its "
            "findings with it"
        )  # fmt: skip
    yield from number_problems("/hours", draft.hours, decimals=2, below=MOST_HOURS, unit="hours")
    yield from money_problems("/cost", draft.cost)
    yield from text_problems("/note", draft.note)


def _event(row: PlanJob, plan: RecommissioningPlan, draft: DoneDraft) -> ServiceEventDraft:
    return ServiceEventDraft(
        on=draft.on.isoformat(),
        odometer=draft.odometer,
        done_by=draft.done_by or ", ".join(row.people),
        cost=draft.cost if plan.currency else None,
        currency=plan.currency if draft.cost is not None else "",
        note=draft.note or name_of(row),
        entries=tuple(_entries(row, draft)),
    )


def _entries(row: PlanJob, draft: DoneDraft) -> Iterator[EntryDraft]:
    """The job's own entry, its measurement, and a renewal of what an assembly brought new."""
    if row.component is None:
        return
    place = Place(row.component.kind, row.component.position)
    parts = list(row.parts.order_by("id"))
    if row.task in ACTIONS:
        first = parts[0] if len(parts) == 1 else None
        yield EntryDraft(
            place=place,
            action=row.task,
            part_number=first.part_number if first else "",
            supplier=first.supplier if first else "",
            price=first.price * first.quantity if first else None,
        )
    if draft.measurement is not None:
        yield EntryDraft(place=place, action="measure", measurement=draft.measurement)
    for part in Component.objects.filter(pk__in=row.clears):
        if part.assembly_id != row.component_id:
            yield EntryDraft(place=Place(part.kind, part.position), action="renew")


def _finish(row: PlanJob, draft: DoneDraft, event: ServiceEvent) -> None:
    row.state, row.done_on, row.service_event = PlanJob.State.DONE, draft.on, event
    row.hours_taken, row.cost_paid = draft.hours, draft.cost
    row.version += 1
    row.save()


@transaction.atomic
def add_part(*, job: PlanJob, given: Mapping[str, Any], today: datetime.date) -> PlanPart:
    """Add a part to a job; refused as in `change_part`, and where the job has one of that name."""
    plan = mark_changed(job.plan)
    part = PlanPart(plan=plan, job=job, collection_id=plan.collection_id, **given)
    problems = list(_part_problems(part, today))
    if job.parts.filter(name=part.name).exists():
        problems.append(Problem("/name", "the job has a part of this name; change its quantity"))
    if job.state == PlanJob.State.DONE:
        problems.append(Problem("/job", "is done already"))
    refuse_if_any(problems)
    part.save(force_insert=True)
    return part


@transaction.atomic
def change_part(
    *, part: PlanPart, version: int, changes: Mapping[str, Any], today: datetime.date
) -> PlanPart:
    """Change price, supplier or lead time of a part, or say that it is ordered.

    Refused: an order after today, an arrival before the order, figures out of range.
    """
    mark_changed(part.plan)
    row = locked_at(part, version)
    for name, value in changes.items():
        setattr(row, name, value)
    refuse_if_any(_part_problems(row, today))
    row.save()
    return row


@transaction.atomic
def remove_part(*, part: PlanPart, version: int) -> None:
    """Take a part off its job."""
    mark_changed(part.plan)
    locked_at(part, version).delete()


def _part_problems(row: PlanPart, today: datetime.date) -> Iterator[Problem]:
    yield from text_problems("/name", row.name, longest=120, required=True)
    yield from text_problems("/part_number", row.part_number, longest=80)
    yield from text_problems("/supplier", row.supplier, longest=120)
    yield from money_problems("/price", row.price)
    if not 1 <= row.quantity <= 1000:
        yield Problem("/quantity", f"{row.quantity} is out of range; give 1 to 1000")
    if not 0 <= row.lead_days <= 1000:
        yield Problem("/lead_days", f"{row.lead_days} is out of range; give 0 to 1000 days")
    if row.ordered_on is not None and row.ordered_on > today:
        yield Problem("/ordered_on", f"{row.ordered_on} is after today, {today}")
    if row.ordered_on and row.arrives_on and row.arrives_on < row.ordered_on:
        yield Problem("/arrives_on", f"{row.arrives_on} is before the order, {row.ordered_on}")


def plan_the_rest(
    *, plan: RecommissioningPlan, at: datetime.datetime, today: datetime.date
) -> None:
    """Plan the rest after a job was recorded as done, which stays whatever comes of this.

    If somebody changes or removes the plan meanwhile, or it can't be planned as it stands, or the
    database takes another writer first, the plan is left as it is.
    """
    try:
        plan_again(plan=plan, today=today, at=at)
    except (Outdated, Refused, ObjectDoesNotExist, IntegrityError, OperationalError) as stopped:
        _log.info("a plan was left as it is: %s", stopped)
