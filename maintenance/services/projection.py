"""What if: lay-ups, distance and work to come, and the due list that follows. Nothing is saved."""

import datetime
from collections.abc import Iterator
from typing import Any

from maintenance.engine.columns import CRITERIA, CRITICALITIES, GRADES, Batch
from maintenance.engine.context import Context, context
from maintenance.engine.days import NEVER, NO_DAY, add_months, from_day, to_day
from maintenance.engine.due import RULE
from maintenance.engine.forecast import Forecast
from maintenance.engine.working import sentence
from maintenance.models import DueItem, Vehicle
from maintenance.planning.projection import (
    Occurrence,
    Occurrences,
    Work,
    occurrences,
    planned_total,
    planned_yearly,
)
from maintenance.planning.what_if import with_lay_up, with_reading_today, with_return
from maintenance.queries.due_answers import INSPECTION_KIND, Answers
from maintenance.queries.due_items import as_dict, number
from maintenance.queries.histories import UNIT, histories
from maintenance.services.cars import closed_problems
from maintenance.services.checks.what_if import known_return, plan_problems
from maintenance.services.drafts import Place
from maintenance.services.refusals import refuse_if_any
from maintenance.services.seasons import SeasonBands, season_bands
from maintenance.services.what_if import PlanDraft, PlannedDistance, PlannedWork

_TODAY = ("status", "due_on", "governed_by", "sentence")
NOTE = (
    "A plan, not a record: nothing is saved. An item is shown up to the next time it falls due; "
    "what comes after depends on the day on which the work is done, so plan that day to see it. "
    "No word here is about the car's condition."
)


def project(*, vehicle: Vehicle, plan: PlanDraft, on: datetime.date) -> dict[str, Any]:
    """Return the due list of a car under a plan beside that of the day `on`, in plain values.

    Refused, each by its place in the plan: days before `on`, periods that do not run forward or
    overlap each other or the lay-up that lasts, unknown words, components the car does not have,
    and figures out of range; and a car that has left its collection. Costs the queries of one car's
    history and one more, and writes nothing.
    """
    refuse_if_any(closed_problems(vehicle))
    history = histories([vehicle])
    places = [Place(row.kind, row.position) for row in history.own_components]
    refuse_if_any(plan_problems(plan, history.batch, places, on))
    until = from_day(int(add_months(to_day(on), plan.months)))
    today = Answers([], on=on, history=history)
    listed = {_key(today, row): item for row, item in enumerate(today.items())}
    found = sorted(_occurrences(vehicle, plan, today, until).items(), key=_order)
    season = _season(vehicle, plan, today, until)
    rows = [
        _row(today, key, listed.get(key), when, until) | {"by_season": _band(season, key, until)}
        for key, when in found
    ]
    return {
        "vehicle": vehicle.registration,
        "on": on.isoformat(),
        "until": until.isoformat(),
        "odometer_unit": vehicle.odometer_unit,
        "assumes": [*_assumptions(vehicle, plan, today), season.says],
        "items": [row for row in rows if row["today"] or row["projected"]],
        "note": NOTE,
    }


def _occurrences(
    vehicle: Vehicle, plan: PlanDraft, today: Answers, until: datetime.date
) -> Occurrences:
    on = to_day(today.on)
    batch = _with_standing(plan, today.history.batch, today.on)
    first = context(batch, on)
    rates = first.forecast
    if plan.distance is not None:
        rates = _planned_rates(plan.distance, vehicle, first, until)
        batch = with_reading_today(batch, today.answer.shared)
    places = [Place(row.kind, row.position) for row in today.history.own_components]
    works = [_work(work, places) for work in plan.done]
    starts = [to_day(stay.from_on) for stay in plan.lay_ups]
    return occurrences(batch, works, starts, on=on, planned=rates)


def _season(vehicle: Vehicle, plan: PlanDraft, today: Answers, until: datetime.date) -> SeasonBands:
    """Return the bands by season, none where the plan says how far the car will go."""
    if plan.distance is not None:
        return SeasonBands("Months: alike, as the plan gives the distance.", {})
    batch = _with_standing(plan, today.history.batch, today.on)
    return season_bands(vehicle=vehicle, today=today, batch=batch, until=until)


def _band(season: SeasonBands, key: tuple[int, int], until: datetime.date) -> dict[str, Any] | None:
    """Return when an item's distance is reached by the months, counted from its last work."""
    origin, row = key
    if origin != RULE or row not in season.bands:
        return None
    early, middle, late = (
        None if day == NEVER else from_day(day).isoformat() for day in season.bands[row]
    )
    return {"earliest_on": early, "due_on": middle, "latest_on": late}


def _with_standing(plan: PlanDraft, batch: Batch, on: datetime.date) -> Batch:
    back = plan.return_on or known_return(batch, on)
    if back is not None:
        batch = with_return(batch, to_day(back))
    for stay in plan.lay_ups:
        batch = with_lay_up(
            batch, to_day(stay.from_on), to_day(stay.to_on), GRADES.index(stay.storage)
        )
    return batch


def _planned_rates(
    distance: PlannedDistance, vehicle: Vehicle, first: Context, until: datetime.date
) -> Forecast:
    amount = int(distance.amount * UNIT[vehicle.odometer_unit])
    if distance.by is None:
        return planned_yearly(first, amount, to_day(until))
    return planned_total(first, amount, to_day(distance.by))


def _work(work: PlannedWork, places: list[Place]) -> Work:
    if work.place.kind == INSPECTION_KIND:
        return Work(to_day(work.on), -1, "")
    return Work(to_day(work.on), places.index(work.place), work.task)


def _key(answers: Answers, row: int) -> tuple[int, int]:
    return int(answers.answer.origin[row]), int(answers.answer.row[row])


def _order(item: tuple[tuple[int, int], list[Occurrence]]) -> tuple[int, ...]:
    key, (first, *_) = item
    unrecorded = first.start == NO_DAY and first.due == NEVER
    day = int(NO_DAY) if unrecorded else first.due
    return (int(first.answer.criticality[first.row]), day, *key)


def _row(
    today: Answers,
    key: tuple[int, int],
    listed: DueItem | None,
    when: list[Occurrence],
    until: datetime.date,
) -> dict[str, Any]:
    """Return an item with what the list says today and each time it falls due under the plan."""
    names, subject = today.names_of(*key), today.subject_of(*key)
    plain = as_dict(listed) if listed else {}
    return {
        "component": names["kind"],
        "position": names["position"],
        "rule": names["rule"],
        "task": names["task"],
        "criticality": CRITICALITIES[int(when[0].answer.criticality[when[0].row])],
        "storage_care": bool(when[0].answer.standings.storage_care[when[0].row]),
        "source": names["source"],
        "caution": names.get("caution", ""),
        "today": {name: plain[name] for name in _TODAY} if listed else None,
        "projected": [_projected(one, subject) for one in when if one.due <= to_day(until)],
        "says": _says(when, until),
        "days_later": _days_later(listed, when[0]),
    }


def _says(when: list[Occurrence], until: datetime.date) -> str:
    """Say why nothing is projected: what is done and what was never done must not look alike."""
    if any(one.due <= to_day(until) for one in when):
        return ""
    last = when[-1]
    row, standings = last.row, last.answer.standings
    if standings.no_record[row]:
        return "no record, due now"
    begins = "counted from" if standings.storage_care[row] else "done"
    done = "" if last.start == NO_DAY else f"{begins} {from_day(last.start)}, "
    if standings.unmeasured[row]:
        return f"{done}not measured"
    if last.due == NEVER and standings.before_use_from[row] <= to_day(until):
        return f"{done}due before use"
    by_use = CRITERIA.index("first_use")
    others = [one for one in last.answer.has_criterion[row].nonzero()[0] if one != by_use]
    if last.due == NEVER and others:
        return f"{done}no day can be told"
    return f"{done}nothing due by {until}"


def _projected(one: Occurrence, subject: str) -> dict[str, Any]:
    return {
        "counted_from": None if one.start == NO_DAY else from_day(one.start).isoformat(),
        "due_on": from_day(one.due).isoformat(),
        "governed_by": CRITERIA[int(one.answer.governed_by[one.row])],
        "done_on": None if one.done == NEVER else from_day(one.done).isoformat(),
        "sentence": sentence(one.answer, one.row, subject=subject),
    }


def _days_later(today: DueItem | None, first: Occurrence) -> int | None:
    """Return by how many days the plan moves the next due day; below nought is earlier."""
    if today is None or today.due_on is None or first.due == NEVER:
        return None
    return int(first.due - to_day(today.due_on))


def _assumptions(vehicle: Vehicle, plan: PlanDraft, today: Answers) -> Iterator[str]:
    if plan.return_on is not None:
        yield f"The lay-up that lasts ends on {plan.return_on}."
    for stay in plan.lay_ups:
        yield f"Laid up from {stay.from_on} to {stay.to_on}, {stay.storage}."
    if plan.distance is None:
        yield "Distance to come: as on record."
    else:
        amount = f"{number(plan.distance.amount)} {vehicle.odometer_unit}"
        until = f"by {plan.distance.by}" if plan.distance.by else "a year"
        yield f"Distance to come: {amount} {until}, spread evenly over the days in use."
        if not today.answer.shared.distance.count[0]:
            yield "No odometer reading is on record, so distance so far is a guess."
    for work in plan.done:
        yield f"{work.place}: {work.task} on {work.on}."
