"""What is wrong with a plan for the time to come."""

import datetime
from collections.abc import Collection, Iterator

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import GRADES, TASKS, Batch
from maintenance.engine.days import NO_DAY, from_day, to_day
from maintenance.queries.due_answers import INSPECTION_KIND
from maintenance.services.drafts import Place
from maintenance.services.refusals import Problem
from maintenance.services.what_if import PlanDraft, PlannedDistance, PlannedWork

MOST_MONTHS = 120
MOST_DISTANCE = 1_000_000
MOST_LAY_UPS = 24
MOST_WORK = 120
WORK = (*TASKS, "repair", "refinish")


def known_return(batch: Batch, on: datetime.date) -> datetime.date | None:
    """Return the expected end of the lay-up that lasts, None if there is none after today."""
    lasting = (batch.lay_ups.end == NO_DAY) & (batch.lay_ups.vehicle == 0)
    expected = int(batch.lay_ups.expected[lasting].max(initial=NO_DAY))
    return from_day(expected) if expected != NO_DAY and expected > to_day(on) else None


def plan_problems(
    plan: PlanDraft, batch: Batch, places: Collection[Place], on: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with a plan for the car of a batch, whose components are at `places`."""
    if not 1 <= plan.months <= MOST_MONTHS:
        yield Problem("/months", f"{plan.months} is not a number of months from 1 to {MOST_MONTHS}")
    for name, most in (("lay_ups", MOST_LAY_UPS), ("done", MOST_WORK)):
        if len(getattr(plan, name)) > most:
            yield Problem(f"/{name}", f"holds more than {most}; ask about fewer at a time")
    yield from _return_problems(plan, batch, on)
    yield from _lay_up_problems(plan, batch, on)
    if plan.distance is not None:
        yield from _distance_problems(plan.distance, on)
    for at, work in enumerate(plan.done):
        yield from _work_problems(f"/done/{at}", work, places, on)


def _return_problems(plan: PlanDraft, batch: Batch, on: datetime.date) -> Iterator[Problem]:
    if plan.return_on is None:
        return
    own = batch.lay_ups.vehicle == 0
    lasting = batch.lay_ups.start[own & (batch.lay_ups.end == NO_DAY)]
    if not lasting.size:
        yield Problem("/return_on", "the car is not laid up; leave the return out")
    elif plan.return_on < on or to_day(plan.return_on) <= lasting.max():
        yield Problem(
            "/return_on", f"{plan.return_on} is before today, {on}, or not after the lay-up began"
        )


def _lay_up_problems(plan: PlanDraft, batch: Batch, on: datetime.date) -> Iterator[Problem]:
    free_from = _free_from(plan, batch, on)
    for at, stay in sorted(enumerate(plan.lay_ups), key=lambda pair: pair[1].from_on):
        pointer = f"/lay_ups/{at}"
        if stay.storage not in GRADES:
            yield Problem(f"{pointer}/storage", unknown("storage grade", stay.storage, GRADES))
        if stay.to_on <= stay.from_on:
            yield Problem(f"{pointer}/to", f"{stay.to_on} is not after {stay.from_on}")
        if stay.from_on < on:
            yield Problem(f"{pointer}/from", f"{stay.from_on} is before today; record it instead")
        elif free_from is None:
            yield Problem(
                f"{pointer}/from",
                "the car is laid up without a known end; say by return_on when that ends",
            )
        elif stay.from_on < free_from:
            yield Problem(
                f"{pointer}/from", f"the car is laid up until {free_from} already; begin then"
            )
        if free_from is not None:
            free_from = max(free_from, stay.to_on)


def _free_from(plan: PlanDraft, batch: Batch, on: datetime.date) -> datetime.date | None:
    """Return the first day that no lay-up holds, None where one lasts without a known end."""
    if not ((batch.lay_ups.end == NO_DAY) & (batch.lay_ups.vehicle == 0)).any():
        return on
    return plan.return_on or known_return(batch, on)


def _distance_problems(distance: PlannedDistance, on: datetime.date) -> Iterator[Problem]:
    if not distance.amount.is_finite() or not 0 <= distance.amount <= MOST_DISTANCE:
        yield Problem("/distance", f"{distance.amount} is not a distance from 0 to {MOST_DISTANCE}")
    if distance.by is not None and distance.by <= on:
        yield Problem("/distance/by", f"{distance.by} is not after today, {on}")


def _work_problems(
    pointer: str, work: PlannedWork, places: Collection[Place], on: datetime.date
) -> Iterator[Problem]:
    if work.on < on:
        yield Problem(f"{pointer}/on", f"{work.on} is before today; record the work instead")
    if work.place.kind == INSPECTION_KIND:
        if work.task != "inspect":
            yield Problem(f"{pointer}/task", f"the task of {INSPECTION_KIND} is inspect")
        return
    if work.task not in WORK:
        yield Problem(f"{pointer}/task", unknown("task", work.task, WORK))
    if work.place in places:
        return
    positions = sorted(place.position for place in places if place.kind == work.place.kind)
    if positions:
        has = ", ".join(map(repr, positions))
        yield Problem(
            f"{pointer}/position",
            f"the car has no {work.place.kind} at {work.place.position!r}; it has {has}",
        )
    elif work.place.kind in catalogue().kinds:
        yield Problem(f"{pointer}/kind", f"the car has no {work.place.kind}; add the component")
    else:
        known = {place.kind for place in places} | set(catalogue().kinds)
        yield Problem(f"{pointer}/kind", unknown("component kind", work.place.kind, known))
