"""Record many service events in one go: all of them or none."""

import dataclasses
import datetime
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from maintenance.engine.reading_order import Odometer, Shown
from maintenance.models import Account, Component, Entry, ServiceEvent, Vehicle
from maintenance.queries.departures import departures_of
from maintenance.services.cars import (
    car_of,
    closed_problem,
    components_by_car,
    locked_with_linked,
    readings_by_car,
)
from maintenance.services.checks.cars import Car
from maintenance.services.checks.odometer import shown_by_event
from maintenance.services.checks.readings import contradiction_problems
from maintenance.services.checks.service_events import event_problems
from maintenance.services.drafts import Place, ServiceEventDraft
from maintenance.services.moves import impossible_moves
from maintenance.services.recompute import CHUNK, recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rows import Batch, Origin, event_rows


@dataclass(frozen=True, kw_only=True)
class Asked:
    """An event to be recorded, and where in the request it stands."""

    pointer: str
    vehicle: Vehicle
    draft: ServiceEventDraft


@transaction.atomic
def record_service_events(
    *,
    asked: Sequence[Asked],
    faults: Sequence[Problem] = (),
    by: Account | None,
    at: datetime.datetime,
) -> list[ServiceEvent]:
    """Record service events of any cars, in their order; each day is told by its car's own today.

    One transaction under the locks of all the cars, each of which is recomputed once; the number
    of queries grows with rows by the five hundred alone. Refused as single events are, with every
    error of all events at once, and with `faults` that were found before.
    """
    cars = {car.pk: car for car in _all_locked(asked)}
    components = components_by_car(cars.values())
    known = _known(cars, components)
    todays = {pk: at.astimezone(car.collection.zone).date() for pk, car in cars.items()}
    problems = [
        problem.under(each.pointer)
        for each in asked
        for problem in event_problems(each.draft, known[each.vehicle.pk], todays[each.vehicle.pk])
    ]
    faulty = {"/".join(problem.pointer.split("/")[:3]) for problem in problems}
    sound = [each for each in asked if each.pointer not in faulty]
    problems += [*_closed(asked, cars), *_contradictions(sound, cars)]
    refuse_if_any([*faults, *problems])
    origin, batch, events = Origin(by=by, at=at), Batch(), []
    elsewhere = _elsewhere(cars, components)
    pointers: dict[UUID, str] = {}
    for each in asked:
        car = cars[each.vehicle.pk]
        places = elsewhere[car.collection_id]
        event, rest = event_rows(each.draft, car, components[car.pk], origin, places)
        batch.add(event, *rest)
        events.append(event)
        pointers |= {
            row.pk: f"{each.pointer}/entries/{row.sequence}"
            for row in rest
            if isinstance(row, Entry)
        }
    batch.write()
    refuse_if_any(
        impossible_moves(list(cars.values()), today=max(todays.values()), pointers=pointers)
    )
    _recompute(cars, todays)
    return events


def _all_locked(asked: Sequence[Asked]) -> list[Vehicle]:
    """Lock the cars of the events, those that parts go to, and those they exchanged parts with."""
    marks: defaultdict[UUID, set[str]] = defaultdict(set)
    for each in asked:
        marks[each.vehicle.collection_id] |= {
            entry.to.vehicle for entry in each.draft.entries if entry.to and entry.to.vehicle
        }
    cars = [each.vehicle for each in asked]
    for collection, some in marks.items():
        if some:
            cars += Vehicle.objects.filter(collection=collection, registration__in=some)
    rows = locked_with_linked(cars)
    if {car.pk for car in cars} - {row.pk for row in rows}:
        raise Vehicle.DoesNotExist
    return rows


def _known(
    cars: dict[UUID, Vehicle], components: Mapping[UUID, dict[Place, Component]]
) -> dict[UUID, Car]:
    by_mark: dict[tuple[UUID, str], Car] = {}
    known = {}
    for pk, car in cars.items():
        facts = car_of(car, components[pk])
        by_mark[car.collection_id, car.registration] = facts
        known[pk] = dataclasses.replace(facts, other_car=_LookUp(by_mark, car.collection_id))
    return known


@dataclass(frozen=True)
class _LookUp:
    """Finds another car of one collection among those read for the request."""

    cars: Mapping[tuple[UUID, str], Car]
    collection: UUID

    def __call__(self, registration: str) -> Car | None:
        return self.cars.get((self.collection, registration))


def _elsewhere(
    cars: dict[UUID, Vehicle], components: Mapping[UUID, dict[Place, Component]]
) -> defaultdict[UUID, dict[tuple[str, Place], Component]]:
    """Return the places of all cars by collection, registration and place."""
    found: defaultdict[UUID, dict[tuple[str, Place], Component]] = defaultdict(dict)
    for pk, car in cars.items():
        for place, component in components[pk].items():
            found[car.collection_id][car.registration, place] = component
    return found


def _closed(asked: Sequence[Asked], cars: dict[UUID, Vehicle]) -> Iterator[Problem]:
    gone = departures_of(cars)
    closed = {(cars[pk].collection_id, cars[pk].registration): pk for pk in gone}
    for each in asked:
        if (left := gone.get(each.vehicle.pk)) is not None:
            yield closed_problem(each.vehicle, left).under(f"{each.pointer}/vehicle")
        for at, entry in enumerate(each.draft.entries):
            mark = entry.to.vehicle if entry.to else ""
            pk = closed.get((each.vehicle.collection_id, mark))
            if pk is not None:
                pointer = f"{each.pointer}/entries/{at}/to/vehicle"
                yield closed_problem(cars[pk], gone[pk]).under(pointer)


def _contradictions(asked: Sequence[Asked], cars: dict[UUID, Vehicle]) -> Iterator[Problem]:
    """Tell which readings contradict each other or what is stored, car by car."""
    new: defaultdict[UUID, list[Shown]] = defaultdict(list)
    for each in asked:
        new[each.vehicle.pk] += shown_by_event(each.draft, prefix=each.pointer)
    telling = [pk for pk, shown in new.items() if shown]
    stored = readings_by_car(cars[pk] for pk in telling)
    for pk in telling:
        car = cars[pk]
        yield from contradiction_problems(
            before=stored[pk],
            after=[*stored[pk], *new[pk]],
            odometer=Odometer(car.odometer_unit, car.odometer_digits),
        )


def _recompute(cars: dict[UUID, Vehicle], todays: dict[UUID, datetime.date]) -> None:
    by_collection: defaultdict[UUID, list[Vehicle]] = defaultdict(list)
    for car in cars.values():
        by_collection[car.collection_id].append(car)
    for some in by_collection.values():
        for start in range(0, len(some), CHUNK):
            recompute_vehicles(vehicles=some[start : start + CHUNK], on=todays[some[0].pk])
