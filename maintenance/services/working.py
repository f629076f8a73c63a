"""The working of a due item: read from the engine's own columns, for the day asked about."""

import dataclasses
import datetime
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from maintenance.engine.days import NO_DAY, add_months, from_day, to_day
from maintenance.engine.working import Leg, explain
from maintenance.engine.working.lines import Line, shown
from maintenance.models import DueItem, Vehicle
from maintenance.queries.due_answers import Answers
from maintenance.services.condition import condition_of
from maintenance.services.condition.standing_part import before_use
from maintenance.services.pictures import plots_of
from maintenance.services.refusals import Problem, Refused


def working_of(*, due_item: DueItem, on: datetime.date) -> dict[str, Any]:
    """Return the working of a due item as known on a day, ready to be written as JSON.

    The car is computed afresh from its records; nothing is saved. Refused where the item does not
    exist on that day, as when its finding was mended or its part taken off the car.
    """
    answers = Answers([due_item.vehicle], on=on)
    for row, item in enumerate(answers.items()):
        if item.key == due_item.key:
            return _working(answers, row, item)
    raise Refused(
        [Problem("/on", f"on {on} this item does not exist; ask for a day on which it does")]
    )


def workings_of_component(
    *, vehicle: Vehicle, kind: str, position: str | None, on: datetime.date
) -> list[dict[str, Any]]:
    """Return the workings of all due items of a car's components of a kind.

    `position` None takes every position. The list is empty where nothing is asked of them.
    """
    answers = Answers([vehicle], on=on)
    return [
        _working(answers, row, item)
        for row, item in enumerate(answers.items())
        if item.kind == kind and position in (None, item.position)
    ]


def why_no_inspection(*, vehicle: Vehicle, on: datetime.date) -> str:
    """Return why no roadworthiness inspection is asked of a car on a day; empty if one is."""
    answers = Answers([vehicle], on=on)
    if not answers.history.vehicles or answers.answer.certificate.asked[0]:
        return ""
    vehicles, regimes = answers.history.batch.vehicles, answers.history.batch.regimes
    regime = int(vehicles.regime[0])
    if regime < 0:
        return "its record names no inspection regime"
    if vehicles.first_registered[0] == NO_DAY:
        return "the day of its first registration is not on record"
    return (
        f"by the rules of {regimes.name[regime]} it is exempt from {_exempt_from(answers, 0)} on, "
        f"{regimes.exempt_after_months[regime]} months after its first registration, by its build "
        "date and the keeper's word that it is not substantially changed; local law goes first"
    )


def _exempt_from(answers: Answers, car: int) -> datetime.date | None:
    """Return the day from which age exempts a car from inspection, none where it never does."""
    vehicles, regimes = answers.history.batch.vehicles, answers.history.batch.regimes
    regime, registered = int(vehicles.regime[car]), int(vehicles.first_registered[car])
    if regime < 0 or registered == NO_DAY or regimes.exempt_after_months[regime] < 0:
        return None
    return from_day(int(add_months(registered, int(regimes.exempt_after_months[regime]))))


def _exemption_that_waits(answers: Answers, car: int) -> Iterator[str]:
    """Name what an exemption by age waits for, where the car is or will be of that age."""
    begins, vehicle = _exempt_from(answers, car), answers.history.vehicles[car]
    if begins is None or vehicle.substantially_changed:
        return
    due = int(answers.answer.certificate.computed[car])
    wanted = {
        "substantially_changed": vehicle.substantially_changed,
        "built_on": vehicle.built_on,
    }
    missing = [f"`{name}`" for name, value in wanted.items() if value is None]
    if missing and (begins <= answers.on or to_day(begins) <= due):
        yield (
            f"From {begins} its age would exempt the car if it is not substantially changed; that "
            f"waits for {' and '.join(missing)}, which the record does not say. Local law goes "
            "first."
        )


def _working(answers: Answers, row: int, item: DueItem) -> dict[str, Any]:
    working = explain(answers.answer, row, subject=answers.subject(row))
    named = {
        "vehicle": item.vehicle.registration,
        "component": item.kind,
        "position": item.position,
        "rule": item.rule,
        "task": item.task,
        "on": answers.on.isoformat(),
    }
    plain: dict[str, Any] = _plain(dataclasses.asdict(working))
    for criterion, derivation in zip(plain["criteria"], working.criteria, strict=True):
        for line, written in zip(criterion["lines"], derivation.lines, strict=True):
            line["shown"] = shown(written.value)
        if criterion["criterion"] == "first_use" and item.component is not None:
            criterion["lines"] += [_to_look_for(says) for says in before_use(item.kind)]
        if criterion["criterion"] == "inspection":
            car = int(answers.answer.row[row])
            criterion["lines"] += [_remark(says) for says in _exemption_that_waits(answers, car)]
    component = item.component
    condition = condition_of(answers, component) if component is not None else []
    more = {"condition": condition, "plots": plots_of(answers, row), "caution": item.caution}
    plain["journey"] = [_leg(answers, leg) for leg in working.journey]
    return named | plain | more


def _leg(answers: Answers, leg: Leg) -> dict[str, Any]:
    """Return a part's time in one place, which may have been on another car.

    Of a car that another collection has by now nothing is told.
    """
    place = answers.history.components[leg.place]
    cars = {car.pk: car.registration for car in answers.history.vehicles}
    where = {
        "vehicle": cars.get(place.vehicle_id, ""),
        "position": place.position,
        "storage": place.storage,
    }
    days: dict[str, Any] = _plain(dataclasses.asdict(leg))
    del days["place"]
    return where | days


def _to_look_for(says: str) -> dict[str, Any]:
    return _remark(f"Before use: {says}.")


def _remark(says: str) -> dict[str, Any]:
    line = Line("", says, None)
    return dataclasses.asdict(line) | {"shown": ""}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    return value
