"""Every error of the cars in a history file at once, each with its place and its remedy."""

import dataclasses
import datetime
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from maintenance.engine.reading_order import Odometer, Shown
from maintenance.models import Paper
from maintenance.queries.marks import bare_mark
from maintenance.services.cars import closed_problems
from maintenance.services.checks import (
    departures,
    inspections,
    lay_ups,
    odometer,
    service_events,
    vehicles,
)
from maintenance.services.checks.cars import Car, kind_problems
from maintenance.services.checks.readings import contradiction_problems
from maintenance.services.checks.sheets import paper_problems, specification_problems
from maintenance.services.drafts import ComponentDraft, EntryDraft, Place
from maintenance.services.history_file.compare import FileCar, name_of, repeated
from maintenance.services.history_file.put_offs import cycle_problems
from maintenance.services.history_file.read import pointer_to
from maintenance.services.refusals import Problem

_SHOWN_BY: dict[str, Callable[..., list[Shown]]] = {
    "odometer_readings": odometer.shown_by_reading,
    "odometer_changes": odometer.shown_by_change,
    "service_events": odometer.shown_by_event,
    "inspections": odometer.shown_by_inspection,
}
_RECORD_CHECKS: dict[str, Callable[..., Iterator[Problem]]] = {
    "odometer_readings": odometer.reading_problems,
    "odometer_changes": odometer.change_problems,
    "lay_ups": lay_ups.lay_up_problems,
    "service_events": service_events.event_problems,
    "inspections": inspections.inspection_problems,
    "departures": departures.departure_problems,
}


def car_of_file(car: FileCar) -> Car:
    """Return what the checks need to know of a car: as stored if it is, with all its components."""
    described = car.stored.contents.vehicle if car.stored else car.contents.vehicle
    drafts = [*car.stored_drafts("components"), *car.contents.components]
    components: dict[Place, Place | None] = {}
    for draft in drafts:
        if draft.place.kind and components.get(draft.place) is None:
            components[draft.place] = draft.assembly
    return vehicles.car_of_draft(described, components)


def settle_places(car: FileCar, known: Car) -> None:
    """Give parts carried over their position where the file left it out and only one part fits.

    A move to the car itself is one on the same car, whether the file names it or not.
    """
    car.contents.service_events = [
        dataclasses.replace(event, entries=tuple(_settled(entry, known) for entry in event.entries))
        for event in car.contents.service_events
    ]


def _settled(entry: EntryDraft, car: Car) -> EntryDraft:
    parts = tuple(_settled_part(part, entry.place, car) for part in entry.carried_over)
    to = entry.to
    if to is not None and to.vehicle == car.registration:
        to = to._replace(vehicle="")
    return dataclasses.replace(entry, carried_over=parts, to=to)


def _settled_part(part: Place, assembly: Place, car: Car) -> Place:
    if part.position or part in car.components:
        return part
    fitting = [
        place
        for place in car.components
        if place.kind == part.kind and car.is_part_of(place, assembly)
    ]
    return fitting[0] if len(fitting) == 1 else part


def record_problems(car: FileCar, known: Car, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with each record and description of a car by itself."""
    for problem in vehicles.vehicle_problems(car.contents.vehicle, today):
        pointer = problem.pointer.replace("/season_", "/season/")
        yield Problem(car.prefix + pointer, problem.message)
    yield from _differences(car)
    if car.stored and any(car.new.values()):
        for problem in closed_problems(car.stored.row):
            yield problem.under(car.prefix)
    for noun, check in _RECORD_CHECKS.items():
        for place, draft in enumerate(car.drafts(noun)):
            for problem in check(draft, known, today):
                yield problem.under(_prefix(car, noun, place))
    for place, draft in enumerate(car.contents.components):
        yield from _component_problems(car, place, draft, known)
    for place, paper in enumerate(car.contents.papers):
        for problem in paper_problems(paper, Paper.Kind.values):
            yield problem.under(_prefix(car, "papers", place))
    for place, line in enumerate(car.contents.specification):
        for problem in specification_problems(line):
            yield problem.under(_prefix(car, "specification", place))


def _component_problems(
    car: FileCar, place: int, draft: ComponentDraft, known: Car
) -> Iterator[Problem]:
    prefix = _prefix(car, "components", place)
    yield from kind_problems(f"{prefix}/kind", draft.place.kind)
    for problem in vehicles.component_problems(draft, known):
        yield problem.under(prefix)
    for stored in car.stored_drafts("components"):
        if stored.place == draft.place and draft.assembly not in (None, stored.assembly):
            have = stored.assembly or "none"
            yield Problem(
                f"{prefix}/assembly",
                f"{draft.assembly} differs from {have}, which the collection holds; change one",
            )
        if stored.place == draft.place and draft.storage not in ("", stored.storage):
            have = stored.storage or "a place on the car"
            yield Problem(
                f"{prefix}/storage",
                f"{draft.storage} differs from {have}, which the collection holds; change one",
            )


def _differences(car: FileCar) -> Iterator[Problem]:
    """Refuse another description of a car than the stored one: an import never changes that."""
    if car.stored is None:
        return
    for name in sorted(car.stated):
        given = getattr(car.contents.vehicle, name)
        have = getattr(car.stored.contents.vehicle, name)
        same_plate = name == "registration" and bare_mark(given) == bare_mark(have)
        if given != have and not same_plate:
            yield Problem(
                car.prefix + pointer_to(name).replace("/season_", "/season/"),
                f"{_said(given)} differs from {_said(have)}, which the collection holds; change "
                "the car there first, or correct the file",
            )


def _said(value: object) -> str:
    return "nothing" if value in (None, "") else str(value)


def sheet_problems(car: FileCar) -> Iterator[Problem]:
    """Refuse descriptions that stand twice in the file, or otherwise in the database."""
    for noun in ("components", "papers", "specification"):
        names: dict[tuple[Any, ...], int] = {}
        stored = {name_of(draft): draft for draft in car.stored_drafts(noun)}
        for place, draft in enumerate(car.drafts(noun)):
            name = name_of(draft)
            if name in names:
                first = _prefix(car, noun, names[name])
                text = f"{_named(name)} stands at {first} already; take one out"
                yield Problem(_prefix(car, noun, place), text)
            elif noun != "components" and name in stored and stored[name] != draft:
                text = f"{_named(name)} differs from the one the collection holds; change one"
                yield Problem(_prefix(car, noun, place), text)
            names.setdefault(name, place)


def _named(name: tuple[Any, ...]) -> str:
    return " ".join(str(part) for part in name if part)


def joint_problems(car: FileCar, known: Car, faulty: set[str]) -> Iterator[Problem]:
    """Tell which sound records of a car contradict each other or what is stored of it."""
    yield from _reading_problems(car, known, faulty)
    yield from _overlaps(car, faulty)
    yield from _changes_of_one_day(car, faulty)
    yield from cycle_problems(car, faulty)
    yield from _second_departures(car)


def _sound(car: FileCar, noun: str, faulty: set[str]) -> list[tuple[str, Any]]:
    """Return what the file adds of a noun, with its pointer, but for records with a problem."""
    added = ((_prefix(car, noun, place), car.drafts(noun)[place]) for place in car.new[noun])
    return [(prefix, draft) for prefix, draft in added if prefix not in faulty]


def _reading_problems(car: FileCar, known: Car, faulty: set[str]) -> Iterator[Problem]:
    if known.odometer_unit not in vehicles.ODOMETER_UNITS:
        return
    stored: list[Shown] = []
    added: list[Shown] = []
    for noun, shown_by in _SHOWN_BY.items():
        for draft in car.stored_drafts(noun):
            stored += shown_by(draft)
        for prefix, draft in _sound(car, noun, faulty):
            added += shown_by(draft, prefix)
    if added:
        yield from contradiction_problems(
            before=stored,
            after=[*stored, *added],
            odometer=Odometer(known.odometer_unit, known.odometer_digits),
        )


def _overlaps(car: FileCar, faulty: set[str]) -> Iterator[Problem]:
    replaced = car.goes_on[0] if car.goes_on else None
    standing = [("", draft) for draft in car.stored_drafts("lay_ups") if draft is not replaced]
    yield from lay_ups.overlap_problems([*standing, *_sound(car, "lay_ups", faulty)])


def _changes_of_one_day(car: FileCar, faulty: set[str]) -> Iterator[Problem]:
    days = {draft.on for draft in car.stored_drafts("odometer_changes")}
    for prefix, draft in _sound(car, "odometer_changes", faulty):
        if draft.on in days:
            yield Problem(f"{prefix}/on", f"a change of instrument on {draft.on} is there already")
        days.add(draft.on)


def _second_departures(car: FileCar) -> Iterator[Problem]:
    for place in range(1, len(car.contents.departures)):
        text = "a car leaves once; keep the departure that is in force"
        yield Problem(_prefix(car, "departures", place), text)


def registration_problems(cars: Sequence[FileCar]) -> Iterator[Problem]:
    """Refuse a registration that stands twice in the file."""
    first: dict[str, str] = {}
    for car in cars:
        written = car.contents.vehicle.registration
        mark = bare_mark(written)
        if mark and mark in first:
            yield Problem(
                f"{car.prefix}/registration",
                f"{written!r} stands at {first[mark]} already; put both histories under one car",
            )
        first.setdefault(mark, car.prefix)


def car_warnings(car: FileCar) -> Iterator[str]:
    """Tell what is odd about a car of the file and yet no reason to refuse it."""
    for warning in vehicles.vehicle_warnings(car.contents.vehicle):
        yield f"{car.prefix}/chassis_number: {warning}"
    for noun in _RECORD_CHECKS:
        for place in repeated(car.drafts(noun)):
            yield f"{_prefix(car, noun, place)}: says the same as a record before it"


def places_of(problems: Iterable[Problem]) -> set[str]:
    """Return the pointers of the records that have a problem, four steps deep."""
    return {"/".join(problem.pointer.split("/")[:5]) for problem in problems}


def _prefix(car: FileCar, noun: str, place: int) -> str:
    return f"{car.prefix}/{noun}/{place}"


def without_repeats(faults: Sequence[Problem], problems: Iterable[Problem]) -> list[Problem]:
    """Return faults of shape, then the other problems but for those at or under a fault."""
    places = {fault.pointer for fault in faults}
    found = list(faults)
    seen = set(faults)
    for problem in problems:
        steps = problem.pointer.split("/")
        above = {"/".join(steps[:depth]) for depth in range(1, len(steps) + 1)} - {""}
        if not above & places and problem not in seen:
            found.append(problem)
            seen.add(problem)
    return found
