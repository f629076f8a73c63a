"""What the records say of a plan's work: done here or elsewhere, tested, found, no longer asked."""

import datetime
from collections.abc import Iterable

from maintenance.models import Entry, Inspection, PlanJob, PlanNeed
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.needs import INSPECTION_TASK, RE_INSPECTION_TASK, needs_of
from maintenance.services.plans.sheets import paper_words
from maintenance.services.plans.wishes import need_key

#: Needs that do not come from the car's records and so stay until their job is done.
_OWN = (PlanNeed.Origin.KEEPER, PlanNeed.Origin.LAY_UP)


def catch_up(sheets: Sheets, *, on: datetime.date) -> None:
    """Bring a plan up to the records: jobs recorded since it began, new needs, needs that are gone.

    Nothing is saved.
    """
    _mark_recorded(sheets)
    _mark_tested(sheets)
    plan = sheets.plan
    done = {job.key for job in sheets.done()}
    fresh, papers = needs_of(plan.vehicle, on=on, by=max(plan.by, on))
    asked = {need.origin_key for need in fresh}
    sooner = _by_the_ready_day(sheets, fresh, on)
    asked_sooner = {need.origin_key for need in sooner}
    kept = [
        need
        for need in sheets.needs
        if need.origin in _OWN
        or need_key(need) in done
        or need.origin_key in asked_sooner
        # A job once planned stays while it is asked for at all.
        or (need.origin_key in asked and need_key(need) in sheets.jobs)
    ]
    known = {need.origin_key for need in kept}
    for need in sooner:
        need.plan = plan
        kept += [] if need.origin_key in known else [need]
    sheets.needs = kept
    sheets.papers = paper_words(papers)


def _by_the_ready_day(
    sheets: Sheets, by_the_deadline: list[PlanNeed], on: datetime.date
) -> list[PlanNeed]:
    """What is asked for if the car returns as planned.

    Up to the deadline more would fall due: what has just been inspected, once more.
    """
    ready = sheets.plan.result.get("ready_on")
    day = datetime.date.fromisoformat(ready) if ready else sheets.plan.by
    if not on <= day < sheets.plan.by:
        return by_the_deadline
    return needs_of(sheets.plan.vehicle, on=on, by=day)[0]


def _mark_recorded(sheets: Sheets) -> None:
    """Work on a component that was recorded since the last planning is work done on its job."""
    plan = sheets.plan
    entries = Entry.objects.filter(
        event__vehicle=plan.vehicle_id,
        event__current=True,
        event__withdrawn=False,
        event__recorded_at__gt=plan.planned_at,
        event__on__gte=plan.starts_on,
    ).select_related("event")
    found = {(entry.component_id, entry.action): entry for entry in entries.order_by("event__on")}
    for job in _unfinished(sheets):
        entry = found.get((job.component_id, job.task)) if job.component_id else None
        if entry is not None:
            job.state, job.done_on = PlanJob.State.DONE, entry.event.on
            job.service_event, job.cost_paid = entry.event, entry.price


def _mark_tested(sheets: Sheets) -> None:
    """The first inspection recorded since is the planned one, a later one its repetition."""
    plan = sheets.plan
    tests = Inspection.objects.filter(
        vehicle=plan.vehicle_id,
        current=True,
        withdrawn=False,
        recorded_at__gt=plan.planned_at,
        on__gte=plan.starts_on,
    ).order_by("on", "id")
    days = [test.on for test in tests]
    for task in (INSPECTION_TASK, RE_INSPECTION_TASK):
        for job in _unfinished(sheets):
            if job.task == task and days:
                job.state, job.done_on = PlanJob.State.DONE, days.pop(0)


def _unfinished(sheets: Sheets) -> Iterable[PlanJob]:
    return [job for job in sheets.jobs.values() if job.state != PlanJob.State.DONE]
