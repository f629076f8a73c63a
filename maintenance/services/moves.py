"""Parts that move: which cars are concerned, and whether the moves on record can have happened."""

import datetime
import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from maintenance.engine.days import from_day, to_day
from maintenance.engine.journeys import EMPTY, LEFT, TAKEN, Fault, journeys
from maintenance.engine.resets import effects
from maintenance.models import Component, Entry, Vehicle
from maintenance.queries.histories import History, histories
from maintenance.services.cars import components_of
from maintenance.services.drafts import Place, ServiceEventDraft
from maintenance.services.refusals import Problem

_REFUSALS: Final = {
    EMPTY: "on {day} nothing is in {place} that could be moved; record first how a part came "
    "there, or check day and place",
    TAKEN: "on {day} a part is still in {place}; record first, in this event or an earlier one, "
    "that it was removed, or where it was moved to",
    LEFT: "on {day} {place} is still on the assembly that is moved; say in the same event where it "
    "goes, or that it is removed",
}


def cars_moved_to(vehicle: Vehicle, draft: ServiceEventDraft) -> list[Vehicle]:
    """Return the other cars of the collection to which a service event takes parts; one query."""
    marks = {entry.to.vehicle for entry in draft.entries if entry.to and entry.to.vehicle}
    if not marks:
        return []
    rows = Vehicle.objects.filter(collection=vehicle.collection_id, registration__in=marks)
    return list(rows.exclude(pk=vehicle.pk).order_by("pk"))


def places_on(cars: Iterable[Vehicle]) -> dict[tuple[str, Place], Component]:
    """Return the components of some cars by registration and place."""
    return {
        (car.registration, place): component
        for car in cars
        for place, component in components_of(car).items()
    }


def impossible_moves(
    vehicles: Sequence[Vehicle], *, today: datetime.date, pointers: Mapping[uuid.UUID, str]
) -> list[Problem]:
    """Tell which moves on record of some cars, and of those linked to them, can't have happened.

    To be asked once a change is written, before it is kept: an event put in before a move, or
    taken back, can make that impossible as well as the move itself. `pointers` names entries of
    what is being written. Costs one query where no part of the collection moved, else those of
    `histories`.
    """
    collections = {vehicle.collection_id for vehicle in vehicles}
    moves = Entry.objects.filter(collection__in=collections, moved_to__isnull=False)
    if not moves.filter(event__current=True, event__withdrawn=False).exists():
        return []
    history = histories(vehicles)
    batch = history.batch
    done = effects(batch.entries, batch.components, batch.carried_over, to_day(today))
    faults = journeys(done, batch.entries, batch.components).faults
    return [_problem(fault, history, pointers) for fault in faults]


def _problem(fault: Fault, history: History, pointers: Mapping[uuid.UUID, str]) -> Problem:
    component = history.components[fault.place]
    owner = next(car for car in history.vehicles if car.pk == component.vehicle_id)
    text = _REFUSALS[fault.why].format(
        day=from_day(int(history.batch.entries.day[fault.entry])),
        place=f"{component} of {owner.registration}",
    )
    pointer = pointers.get(history.entries[fault.entry])
    if pointer is None:
        return Problem("", f"contradicts a move on record: {text}")
    return Problem(pointer + ("/to" if fault.why == TAKEN else ""), text)
