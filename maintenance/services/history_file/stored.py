"""What the database holds of some cars, as the same drafts that a file is turned into."""

import datetime
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet

from maintenance.models import (
    CarriedOver,
    Component,
    Departure,
    Entry,
    Finding,
    Inspection,
    LayUp,
    Measurement,
    OdometerChange,
    OdometerReading,
    Paper,
    Postponement,
    ServiceEvent,
    SpecificationLine,
    Vehicle,
)
from maintenance.queries.moves import first_recorded
from maintenance.services import as_drafts
from maintenance.services.drafts import (
    DueItemName,
    EntryDraft,
    InspectionDraft,
    Place,
    PostponementDraft,
)
from maintenance.services.history_file.contents import CarContents
from maintenance.services.history_file.due_item_names import (
    finding_names,
    paper_name,
    put_off_item,
)

Row = TypeVar("Row", bound=Model)
Inspected = list[tuple[InspectionDraft, Sequence[Finding]]]
"""Inspections of a car that are in force, in the order recorded, each with its findings."""
#: Cars read at a time; a database takes only so many parameters in one query.
CHUNK = 200


@dataclass(frozen=True)
class StoredCar:
    """A car of the database: its row, what is in force of it, and what was superseded.

    `turns` holds for each service event in force its first day and the first record of its line:
    by these the events of cars that exchanged parts follow each other. `inspected` has the
    inspections in force once more, with the rows of their findings.
    """

    row: Vehicle
    contents: CarContents
    superseded: CarContents
    turns: list[tuple[datetime.date, UUID]] = field(default_factory=list)
    inspected: Inspected = field(default_factory=list)


def stored_cars(vehicles: Iterable[Vehicle]) -> Iterator[StoredCar]:
    """Read some cars with all that is recorded of them, fifteen queries for every 200 cars."""
    cars = iter(vehicles)
    while chunk := list(itertools.islice(cars, CHUNK)):
        yield from _read(chunk)


def _read(vehicles: Sequence[Vehicle]) -> Iterator[StoredCar]:
    found = {
        vehicle.pk: StoredCar(vehicle, _empty(vehicle), _empty(vehicle)) for vehicle in vehicles
    }

    def side(row: Any) -> CarContents:
        car = found[row.vehicle_id]
        return car.contents if row.current else car.superseded

    for reading in _recorded(OdometerReading, vehicles):
        side(reading).odometer_readings.append(as_drafts.reading_draft(reading))
    for change in _recorded(OdometerChange, vehicles):
        side(change).odometer_changes.append(as_drafts.change_draft(change))
    for lay_up in _recorded(LayUp, vehicles):
        side(lay_up).lay_ups.append(as_drafts.lay_up_draft(lay_up))
    entries = entries_of(vehicle__in=vehicles)
    first = first_recorded(vehicles)
    events = [
        ((row.on, first.get(row.pk, row.pk)), row) for row in _recorded(ServiceEvent, vehicles)
    ]
    for turn, event in sorted(events, key=lambda pair: pair[0]):
        draft = as_drafts.event_draft(event, entries[event.pk])
        side(event).service_events.append(draft)
        if event.current:
            found[event.vehicle_id].turns.append(turn)
    findings = findings_of(vehicle__in=vehicles)
    for inspection in _recorded(Inspection, vehicles).order_by("pk"):
        made = as_drafts.inspection_draft(inspection, findings[inspection.pk])
        side(inspection).inspections.append(made)
        if inspection.current:
            found[inspection.vehicle_id].inspected.append((made, findings[inspection.pk]))
    places, papers = _add_descriptions(found, vehicles)
    named = {
        str(finding.pk): name
        for car in found.values()
        for name, finding in finding_names(car.inspected).items()
    }
    for put_off in _recorded(Postponement, vehicles):
        item, gone = put_off_item(put_off, places, named, papers)
        side(put_off).postponements.append(_postponement_draft(put_off, item, gone))
    for departure in _recorded(Departure, vehicles):
        side(departure).departures.append(as_drafts.departure_draft(departure))
    yield from found.values()


def _empty(vehicle: Vehicle) -> CarContents:
    return CarContents(vehicle=as_drafts.vehicle_draft(vehicle))


def _recorded(model: type[Row], vehicles: Sequence[Vehicle]) -> QuerySet[Row]:
    """Return records in force and superseded ones; a withdrawal itself records nothing."""
    return model._default_manager.filter(vehicle__in=vehicles, withdrawn=False)


def _postponement_draft(row: Postponement, item: DueItemName, gone: bool) -> PostponementDraft:
    return PostponementDraft(
        item=item,
        rule=row.rule,
        until=row.until,
        why=row.why,
        since=datetime.date.fromisoformat(row.cycle) if row.cycle else None,
        gone=gone,
    )


def _add_descriptions(
    found: dict[UUID, StoredCar], vehicles: Sequence[Vehicle]
) -> tuple[dict[str, Place], dict[str, DueItemName]]:
    """Add components, papers and sheets; return the places and the papers by their identifier."""
    places, papers = {}, {}
    for component in Component.objects.filter(vehicle__in=vehicles).select_related("assembly"):
        draft = as_drafts.component_draft(component)
        found[component.vehicle_id].contents.components.append(draft)
        places[str(component.pk)] = draft.place
    for paper in Paper.objects.filter(vehicle__in=vehicles):
        described = as_drafts.paper_draft(paper)
        found[paper.vehicle_id].contents.papers.append(described)
        papers[str(paper.pk)] = paper_name(described)
    for line in SpecificationLine.objects.filter(vehicle__in=vehicles):
        made = as_drafts.specification_draft(line)
        found[line.vehicle_id].contents.specification.append(made)
    return places, papers


def entries_of(**events: Any) -> dict[UUID, list[EntryDraft]]:
    """Return the entries of events, given as `vehicle__in` or `in`, by event; three queries."""
    entries = {f"event__{name}": value for name, value in events.items()}
    within = {f"entry__{name}": value for name, value in entries.items()}
    measured = {row.entry_id: row for row in Measurement.objects.filter(**within)}
    parts: dict[UUID, list[Place]] = defaultdict(list)
    for row in CarriedOver.objects.filter(**within).select_related("component"):
        parts[row.entry_id].append(as_drafts.place_of(row.component))
    found: dict[UUID, list[EntryDraft]] = defaultdict(list)
    rows = Entry.objects.filter(**entries).select_related("component", "moved_to__vehicle")
    for entry in rows.order_by("event", "sequence"):
        draft = as_drafts.entry_draft(
            entry, measurement=measured.get(entry.pk), carried_over=sorted(parts[entry.pk])
        )
        found[entry.event_id].append(draft)
    return found


def findings_of(**inspections: Any) -> dict[UUID, list[Finding]]:
    """Return the findings of inspections, given as `vehicle__in` or `in`, by inspection."""
    wanted = {f"inspection__{name}": value for name, value in inspections.items()}
    found: dict[UUID, list[Finding]] = defaultdict(list)
    rows = Finding.objects.filter(**wanted).select_related("component")
    for finding in rows.order_by("inspection", "sequence"):
        found[finding.inspection_id].append(finding)
    return found
