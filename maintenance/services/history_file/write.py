"""Write what a history file adds, many cars at a time."""

import dataclasses
from collections.abc import Iterable
from uuid import UUID

from django.db.models import Model

from maintenance.models import (
    Collection,
    Component,
    Departure,
    Entry,
    LayUp,
    Postponement,
    Vehicle,
)
from maintenance.services.cars import components_of
from maintenance.services.drafts import Place, ServiceEventDraft
from maintenance.services.evidence import supersede
from maintenance.services.history_file.compare import FileCar
from maintenance.services.history_file.item_keys import ItemKeys
from maintenance.services.moves import places_on
from maintenance.services.papers import paper_row
from maintenance.services.rows import (
    Batch,
    Origin,
    change_row,
    cycle_text,
    departure_row,
    event_rows,
    inspection_rows,
    lay_up_row,
    postponement_row,
    reading_row,
)
from maintenance.services.specification import line_row

#: Rows of this many cars are gathered before they are written together.
_CARS_TOGETHER = 100


class CarWriter:
    """Turns what is new of each car into rows and writes them in batches."""

    def __init__(self, collection: Collection, origin: Origin) -> None:
        self._collection = collection
        self._origin = origin
        self._vehicles: dict[str, Vehicle] = {}
        self._batch = Batch()
        self._departures: list[Departure] = []
        self._waiting = 0
        self._by_mark: dict[str, FileCar] = {}
        self._places: dict[str, dict[Place, Component]] = {}
        self.pointers: dict[UUID, str] = {}
        """Where in the file each move written stands."""
        self.put_off: list[tuple[str, Postponement]] = []
        """The postponements written of items that are not gone, with their place in the file."""

    def know(self, cars: Iterable[FileCar]) -> None:
        """Take note of the cars of the file, between which parts may move."""
        self._by_mark = {car.contents.vehicle.registration: car for car in cars}

    def vehicle(self, car: FileCar) -> Vehicle:
        """Return the row of a car, stored or still to be."""
        if car.stored is not None:
            return car.stored.row
        if car.prefix not in self._vehicles:
            self._vehicles[car.prefix] = Vehicle(
                collection=self._collection, **dataclasses.asdict(car.contents.vehicle)
            )
        return self._vehicles[car.prefix]

    def write(self, car: FileCar) -> None:
        """Take a checked car; its rows are written when enough are waiting."""
        vehicle = self.vehicle(car)
        if car.stored is None:
            self._batch.add(vehicle)
        components = self._components(car)
        contents, origin, add = car.contents, self._origin, self._batch.add
        for place in car.new["odometer_readings"]:
            add(reading_row(contents.odometer_readings[place], vehicle, origin))
        for place in car.new["odometer_changes"]:
            add(change_row(contents.odometer_changes[place], vehicle, origin))
        for place in car.new["lay_ups"]:
            add(lay_up_row(contents.lay_ups[place], vehicle, self._lay_up_origin(car, place)))
        for place in car.new["service_events"]:
            draft = contents.service_events[place]
            elsewhere = self._elsewhere(draft)
            event, rest = event_rows(draft, vehicle, components, origin, elsewhere)
            add(event, *rest)
            self._note_moves(f"{car.prefix}/service_events/{place}", rest)
        keys = ItemKeys(car, components)
        for place in car.new["inspections"]:
            inspection, findings = inspection_rows(
                contents.inspections[place], vehicle, components, origin
            )
            add(inspection, *findings)
            keys.add_inspection(contents.inspections[place], findings)
        for place in car.new["papers"]:
            paper = paper_row(contents.papers[place], vehicle)
            add(paper)
            keys.add_paper(paper)
        for place in car.new["specification"]:
            add(line_row(contents.specification[place], vehicle))
        for place in car.new["postponements"]:
            add(self._put_off(car, place, keys))
        for place in car.new["departures"]:
            self._departures.append(departure_row(contents.departures[place], vehicle, origin))
        self._waiting += 1
        if self._waiting >= _CARS_TOGETHER:
            self._write()

    def finish(self) -> None:
        """Write what is still waiting; departures last, for they close the records of their cars.

        Until then a car takes what is recorded of it, and parts that come from others.
        """
        self._batch.add(*self._departures)
        self._departures = []
        self._write()

    def _write(self) -> None:
        self._batch.write()
        self._waiting = 0

    def _note_moves(self, prefix: str, rows: Iterable[Model]) -> None:
        for row in rows:
            if isinstance(row, Entry) and row.moved_to_id:
                self.pointers[row.pk] = f"{prefix}/entries/{row.sequence}"

    def _elsewhere(self, draft: ServiceEventDraft) -> dict[tuple[str, Place], Component]:
        """Return the places on other cars, of the file or stored, to which parts go."""
        found: dict[tuple[str, Place], Component] = {}
        for mark in {entry.to.vehicle for entry in draft.entries if entry.to} - {""}:
            car = self._by_mark.get(mark)
            if car is None:
                stored = Vehicle.objects.get(collection=self._collection, registration=mark)
                found |= places_on([stored])
            else:
                found |= {(mark, place): row for place, row in self._components(car).items()}
        return found

    def _components(self, car: FileCar) -> dict[Place, Component]:
        """Return the components of a car of the file, written once: a part may go to it first."""
        mark = car.contents.vehicle.registration
        if mark not in self._places:
            self._places[mark] = self._write_components(car, self.vehicle(car))
        return self._places[mark]

    def _write_components(self, car: FileCar, vehicle: Vehicle) -> dict[Place, Component]:
        components = components_of(vehicle) if car.stored is not None else {}
        added = [car.contents.components[place] for place in car.new["components"]]
        for draft in added:
            components[draft.place] = Component(
                vehicle=vehicle,
                collection_id=vehicle.collection_id,
                kind=draft.place.kind,
                position=draft.place.position,
                storage=draft.storage,
            )
        for draft in added:
            if draft.assembly is not None:
                components[draft.place].assembly = components[draft.assembly]
            self._batch.add(components[draft.place])
        return components

    def _lay_up_origin(self, car: FileCar, place: int) -> Origin:
        if car.goes_on is None or car.goes_on[1] != place:
            return self._origin
        stored = LayUp.objects.get(
            vehicle=self.vehicle(car), to_on__isnull=True, current=True, withdrawn=False
        )
        origin = dataclasses.replace(
            self._origin, supersedes=stored, reason="the history file tells more of this lay-up"
        )
        supersede(origin)
        return origin

    def _put_off(self, car: FileCar, place: int, keys: ItemKeys) -> Postponement:
        draft = car.contents.postponements[place]
        key, vehicle, origin = keys.key_of(draft), self.vehicle(car), self._origin
        if place in car.put_off_before:
            before = Postponement.objects.get(
                vehicle=vehicle,
                item_key=key,
                cycle=cycle_text(draft),
                current=True,
                withdrawn=False,
            )
            origin = dataclasses.replace(origin, supersedes=before, reason=draft.why)
            supersede(origin)
        row = postponement_row(draft, key, vehicle, origin)
        if not draft.gone:
            self.put_off.append((f"{car.prefix}/postponements/{place}", row))
        return row
