"""Drafts that have been checked, as rows not yet saved: for one record, or a file full of them."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model

from maintenance.engine.stated_days import read_day
from maintenance.models import (
    Account,
    Arrival,
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
    Postponement,
    ServiceEvent,
    Vehicle,
)
from maintenance.models.base import Evidence, Sealed
from maintenance.services import chain
from maintenance.services.checks.manufacture import made_on
from maintenance.services.drafts import (
    DepartureDraft,
    EntryDraft,
    InspectionDraft,
    LayUpDraft,
    OdometerChangeDraft,
    Place,
    PostponementDraft,
    ReadingDraft,
    ServiceEventDraft,
)


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Who records and when, and for a correction which record it supersedes and why.

    One that `undoes` puts back what stood before; only that may follow a withdrawal.
    """

    by: Account | None
    at: datetime.datetime
    supersedes: Evidence | None = None
    reason: str = ""
    undoes: bool = False

    def columns(self, vehicle: Vehicle) -> dict[str, Any]:
        """Return the columns that every record of a car has."""
        return {
            "vehicle": vehicle,
            "collection_id": vehicle.collection_id,
            "recorded_by": self.by,
            "recorded_at": self.at,
            "supersedes": self.supersedes,
            "reason": self.reason,
        }


@dataclass
class Batch:
    """Rows waiting to be written, kept in the order in which one may refer to another.

    Records are written here and nowhere else, so that none is left out of its car's chain.
    """

    rows: dict[type[Model], list[Model]] = field(default_factory=dict)
    records: list[Evidence] = field(default_factory=list)
    parts: chain.Parts = field(default_factory=chain.Parts)

    def add(self, *rows: Model) -> None:
        """Put rows at the end; a row comes after those it refers to."""
        for row in rows:
            if isinstance(row, Sealed):
                row.seal()
            self.rows.setdefault(type(row), []).append(row)
            if isinstance(row, Evidence):
                self.records.append(row)
            else:
                self.parts.add(row)

    def write(self, batch_size: int = 500) -> None:
        """Write everything, one kind of row after the other, and chain the records.

        To be called in a transaction, under the locks of the cars that records are of.
        """
        for model, rows in self.rows.items():
            model._default_manager.bulk_create(rows, batch_size=batch_size)
        chain.append(self.records, self.parts)
        self.rows, self.records, self.parts = {}, [], chain.Parts()


def write(*rows: Model) -> None:
    """Write a record with what belongs to it, as a batch of one."""
    batch = Batch()
    batch.add(*rows)
    batch.write()


def reading_row(draft: ReadingDraft, vehicle: Vehicle, origin: Origin) -> OdometerReading:
    """Return the row of an odometer reading."""
    return OdometerReading(**origin.columns(vehicle), on=draft.on, value=draft.value)


def change_row(draft: OdometerChangeDraft, vehicle: Vehicle, origin: Origin) -> OdometerChange:
    """Return the row of a change of instrument."""
    return OdometerChange(
        **origin.columns(vehicle),
        on=draft.on,
        old_value=draft.old_value,
        new_value=draft.new_value,
    )


def lay_up_row(draft: LayUpDraft, vehicle: Vehicle, origin: Origin) -> LayUp:
    """Return the row of a lay-up."""
    return LayUp(
        **origin.columns(vehicle),
        from_on=draft.from_on,
        to_on=draft.to_on,
        expected_to=draft.expected_to,
        storage=draft.storage,
        preparations=list(draft.preparations),
    )


def event_rows(
    draft: ServiceEventDraft,
    vehicle: Vehicle,
    components: Mapping[Place, Component],
    origin: Origin,
    elsewhere: Mapping[tuple[str, Place], Component] | None = None,
) -> tuple[ServiceEvent, list[Model]]:
    """Return the row of a service event, and those of its entries and what hangs on them.

    `elsewhere` has the places on other cars to which its moves go, by registration.
    """
    days = read_day(draft.on)
    event = ServiceEvent(
        **origin.columns(vehicle),
        on_stated=draft.on,
        on=days.earliest,
        until=days.latest,
        odometer=draft.odometer,
        done_by=draft.done_by,
        cost=draft.cost,
        currency=draft.currency,
        note=draft.note,
    )
    rows = [
        row
        for sequence, entry in enumerate(draft.entries)
        for row in _entry_rows(entry, event, sequence, components, elsewhere or {})
    ]
    return event, rows


def _entry_rows(
    draft: EntryDraft,
    event: ServiceEvent,
    sequence: int,
    components: Mapping[Place, Component],
    elsewhere: Mapping[tuple[str, Place], Component],
) -> Iterable[Model]:
    made = made_on(draft)
    goes_to = None
    if draft.to is not None:
        there = Place(draft.place.kind, draft.to.position)
        other = draft.to.vehicle
        goes_to = elsewhere[other, there] if other else components[there]
    tenant = {"collection_id": event.collection_id}
    entry = Entry(
        **tenant,
        event=event,
        sequence=sequence,
        component=components[draft.place],
        action=draft.action,
        manufactured=draft.manufactured,
        date_code=draft.date_code,
        manufactured_on=made.earliest if made else None,
        part_number=draft.part_number,
        supplier=draft.supplier,
        price=draft.price,
        note=draft.note,
        moved_to=goes_to,
    )
    yield entry
    if goes_to is not None and goes_to.vehicle_id != event.vehicle_id:
        yield arrival_row(entry)
    for part in draft.carried_over:
        yield CarriedOver(**tenant, entry=entry, component=components[part])
    if draft.measurement is not None:
        yield Measurement(
            **tenant,
            entry=entry,
            quantity=draft.measurement.quantity,
            value=draft.measurement.value,
            unit=draft.measurement.unit,
        )


def arrival_row(move: Entry) -> Arrival:
    """Return what the car to which a part goes is told of it."""
    event, there = move.event, move.moved_to
    assert there is not None
    return Arrival(
        collection_id=event.collection_id,
        vehicle=there.vehicle,
        recorded_by=event.recorded_by,
        recorded_at=event.recorded_at,
        on=event.on,
        component=there,
        from_component=move.component,
        move=move,
    )


def inspection_rows(
    draft: InspectionDraft,
    vehicle: Vehicle,
    components: Mapping[Place, Component],
    origin: Origin,
) -> tuple[Inspection, list[Finding]]:
    """Return the row of an inspection, and those of its findings."""
    inspection = Inspection(
        **origin.columns(vehicle),
        on=draft.on,
        odometer=draft.odometer,
        result=draft.result,
        expires_on=draft.expires_on,
        certificate=draft.certificate,
    )
    findings = [
        Finding(
            collection_id=vehicle.collection_id,
            inspection=inspection,
            sequence=sequence,
            component=components[finding.place],
            category=finding.category,
            note=finding.note,
        )
        for sequence, finding in enumerate(draft.findings)
    ]
    return inspection, findings


def departure_row(draft: DepartureDraft, vehicle: Vehicle, origin: Origin) -> Departure:
    """Return the row of a departure."""
    return Departure(**origin.columns(vehicle), on=draft.on, how=draft.how, note=draft.note)


def postponement_row(
    draft: PostponementDraft, item_key: str, vehicle: Vehicle, origin: Origin
) -> Postponement:
    """Return the row of a postponement of the due item that has a key."""
    place = draft.item.place
    return Postponement(
        **origin.columns(vehicle),
        item_key=item_key,
        cycle=cycle_text(draft),
        kind=place.kind,
        position=place.position,
        rule=draft.rule,
        until=draft.until,
        why=draft.why,
    )


def cycle_text(draft: PostponementDraft) -> str:
    """Return the cycle of the item that was put off, as it is stored."""
    return draft.since.isoformat() if draft.since else ""
