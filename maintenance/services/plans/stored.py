"""Make, change and keep recommissioning plans.

The search for a plan takes seconds: it runs outside any transaction, on rows read before, and
what it found is written only if the plan is still the version it was read at.
"""

import datetime
from dataclasses import replace

from django.db import transaction

from maintenance.models import (
    Component,
    PlanJob,
    PlanNeed,
    PlanPart,
    PlanPerson,
    PlanResource,
    RecommissioningPlan,
    Vehicle,
)
from maintenance.services.cars import closed_problems, locked
from maintenance.services.checks.plans import draft_problems
from maintenance.services.plans.building import Sheets, build
from maintenance.services.plans.offers import usual_currency
from maintenance.services.plans.progress import catch_up
from maintenance.services.plans.sheets import (
    new_sheets,
    people_rows,
    resource_rows,
    set_terms,
    stored_sheets,
)
from maintenance.services.plans.solving import solve
from maintenance.services.plans.terms import RecommissioningDraft
from maintenance.services.refusals import Problem as Wrong
from maintenance.services.refusals import Refused, refuse_if_any
from maintenance.services.versions import locked_at

#: More jobs than the search can plan in its time.
MOST_JOBS = 400


def draft_plan(*, vehicle: Vehicle, draft: RecommissioningDraft, today: datetime.date) -> Sheets:
    """Plan a car's way back to the road and save nothing.

    Refused, each by its field: a car that has left its collection, terms that make no sense, people
    too few for a job, a resource that a job needs and nobody has, and work for which nobody is
    skilled. Demands that can't hold together are no refusal but a plan in the state `impossible`,
    with the smallest set of them.
    """
    refuse_if_any(closed_problems(vehicle))
    draft = replace(draft, currency=draft.currency or usual_currency(vehicle))
    refuse_if_any(draft_problems(draft, today))
    sheets = new_sheets(vehicle, draft, on=today)
    start = max(draft.starts_on, today)
    built = build(sheets, start)
    _refuse_too_many(len(built.problem.jobs))
    solve(sheets, built, on=start, anew=True)
    return sheets


def make_plan(
    *,
    vehicle: Vehicle,
    draft: RecommissioningDraft,
    today: datetime.date,
    at: datetime.datetime,
) -> RecommissioningPlan:
    """Plan a car's way back to the road and save the plan; refused as in `draft_plan`.

    One transaction for the writing, after the search.
    """
    sheets = draft_plan(vehicle=vehicle, draft=draft, today=today)
    sheets.plan.planned_at = at
    return keep_plan(sheets)


@transaction.atomic
def keep_plan(sheets: Sheets) -> RecommissioningPlan:
    """Save a plan just made, with the instant of its planning set.

    Raises `Vehicle.DoesNotExist` where the car has gone to another collection during the search;
    refused where its record was closed meanwhile.
    """
    if locked(sheets.plan.vehicle).collection_id != sheets.plan.collection_id:
        raise Vehicle.DoesNotExist
    sheets.plan.save(force_insert=True)
    PlanPerson.objects.bulk_create(sheets.people)
    PlanResource.objects.bulk_create(sheets.resources)
    _write_rows(sheets)
    return sheets.plan


def plan_again(
    *,
    plan: RecommissioningPlan,
    today: datetime.date,
    at: datetime.datetime,
    anew: bool = False,
) -> RecommissioningPlan:
    """Plan the rest from today, moving as little as can be, or `anew` as if nothing were planned.

    What was recorded since the last planning counts as done, new findings and due items add jobs,
    and what nobody asks for any more goes. Raises `Outdated`, and writes nothing, where somebody
    changed the plan during the search. Refused as in `draft_plan`.
    """
    plan = RecommissioningPlan.objects.select_related("vehicle__collection").get(pk=plan.pk)
    refuse_if_any(closed_problems(plan.vehicle))
    sheets = stored_sheets(plan)
    catch_up(sheets, on=today)
    plan.planned_on = today
    start = max(plan.starts_on, today)
    built = build(sheets, start)
    _refuse_too_many(len(built.problem.jobs))
    solve(sheets, built, on=start, anew=anew)
    with transaction.atomic():
        plan.version = _locked(plan, plan.version).version
        plan.planned_at = at
        plan.save()
        _write_rows(sheets)
    return plan


@transaction.atomic
def change_plan(
    *,
    plan: RecommissioningPlan,
    version: int,
    draft: RecommissioningDraft,
    today: datetime.date,
) -> RecommissioningPlan:
    """Change the terms of a plan, its people and resources whole; planned again when asked.

    Refused as in `draft_plan`; a plan that is under way keeps the day on which it began.
    """
    draft = replace(draft, currency=draft.currency or usual_currency(plan.vehicle))
    problems = draft_problems(draft, today)
    began = draft.starts_on == plan.starts_on
    refuse_if_any(one for one in problems if not (began and one.pointer == "/starts_on"))
    row = _locked(plan, version)
    set_terms(row, draft)
    row.state = row.State.CHANGED
    row.save()
    row.people.all().delete()
    row.resources.all().delete()
    PlanPerson.objects.bulk_create(people_rows(row, draft))
    PlanResource.objects.bulk_create(resource_rows(row, draft))
    return row


@transaction.atomic
def remove_plan(*, plan: RecommissioningPlan, version: int) -> None:
    """Remove a plan with its jobs; the service events of work done on it stay.

    A plan is no record: that of a car which has left goes too, though nothing else of it changes.
    """
    _locked(plan, version, even_closed=True).delete()


def _locked(
    plan: RecommissioningPlan, version: int, *, even_closed: bool = False
) -> RecommissioningPlan:
    """Lock a plan as `locked_at` does, after its car: whatever hangs on a car begins there."""
    locked(plan.vehicle, even_closed=even_closed)
    return locked_at(plan, version)


def mark_changed(plan: RecommissioningPlan) -> RecommissioningPlan:
    """Lock a plan whose rows are about to change, and say that it was changed.

    To be called in the transaction of the change: a search that runs meanwhile then finds another
    version and writes nothing over it. Refused for a car that has left its collection.
    """
    locked(plan.vehicle)
    row = RecommissioningPlan.objects.select_for_update(no_key=True).get(pk=plan.pk)
    row.state, row.version = row.State.CHANGED, row.version + 1
    row.save(update_fields=["state", "version"])
    return row


def _refuse_too_many(jobs: int) -> None:
    if jobs > MOST_JOBS:
        text = f"comes to {jobs} jobs; more than {MOST_JOBS} can't be planned at once"
        raise Refused([Wrong("", text)])


def _write_rows(sheets: Sheets) -> None:
    """Write needs, jobs and parts as they are now, and take out those that are gone.

    A component removed during the search is left out as if it were removed now.
    """
    plan = sheets.plan
    there = set(Component.objects.filter(vehicle=plan.vehicle_id).values_list("pk", flat=True))
    sheets.needs = [one for one in sheets.needs if one.component_id in {None, *there}]
    for job in sheets.jobs.values():
        if job.component_id not in there:
            job.component = None
    parts = [part for rows in sheets.parts.values() for part in rows]
    jobs = list(sheets.jobs.values())
    PlanNeed.objects.filter(plan=plan).exclude(pk__in=[one.pk for one in sheets.needs]).delete()
    PlanPart.objects.filter(plan=plan).exclude(pk__in=[one.pk for one in parts]).delete()
    PlanJob.objects.filter(plan=plan).exclude(pk__in=[one.pk for one in jobs]).delete()
    _upsert(PlanNeed, sheets.needs)
    # Finished rows first: one that is put aside gives its key up to the row that takes its place.
    _upsert(PlanJob, sorted(jobs, key=lambda job: job.state != PlanJob.State.DONE))
    _upsert(PlanPart, parts)


def _upsert(model: type[PlanNeed] | type[PlanJob] | type[PlanPart], rows: list) -> None:  # type: ignore[type-arg]
    names = [field.name for field in model._meta.concrete_fields if not field.primary_key]
    for row in rows:
        if not row._state.adding and hasattr(row, "version"):
            row.version += 1
    model._default_manager.bulk_create(
        rows, batch_size=200, update_conflicts=True, unique_fields=["id"], update_fields=names
    )
