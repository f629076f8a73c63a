"""Stored rows as drafts again, to be compared with new ones, changed and exported."""

from collections.abc import Iterable

from maintenance.models import (
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
    ServiceEvent,
    SpecificationLine,
    Vehicle,
)
from maintenance.services.drafts import (
    ComponentDraft,
    DepartureDraft,
    Destination,
    EntryDraft,
    FindingDraft,
    InspectionDraft,
    LayUpDraft,
    MeasurementDraft,
    OdometerChangeDraft,
    PaperDraft,
    Place,
    ReadingDraft,
    ServiceEventDraft,
    SpecificationDraft,
    VehicleDraft,
)


def place_of(component: Component) -> Place:
    """Return where on its car a component is."""
    return Place(component.kind, component.position)


def vehicle_draft(row: Vehicle) -> VehicleDraft:
    """Return the description of a car."""
    return VehicleDraft(
        registration=row.registration,
        make=row.make,
        model=row.model,
        odometer_unit=row.odometer_unit,
        odometer_digits=row.odometer_digits,
        chassis_number=row.chassis_number,
        built_on=row.built_on,
        first_registered_on=row.first_registered_on,
        substantially_changed=row.substantially_changed,
        nominal_voltage=row.nominal_voltage,
        inspection_regime=row.inspection_regime,
        expected_annual_distance=row.expected_annual_distance,
        season_from_month=row.season_from_month,
        season_to_month=row.season_to_month,
    )


def component_draft(row: Component) -> ComponentDraft:
    """Return a component with its assembly."""
    return ComponentDraft(
        place=place_of(row),
        assembly=place_of(row.assembly) if row.assembly else None,
        storage=row.storage,
    )


def reading_draft(row: OdometerReading) -> ReadingDraft:
    """Return an odometer reading."""
    return ReadingDraft(on=row.on, value=row.value)


def change_draft(row: OdometerChange) -> OdometerChangeDraft:
    """Return a change of instrument."""
    return OdometerChangeDraft(on=row.on, old_value=row.old_value, new_value=row.new_value)


def lay_up_draft(row: LayUp) -> LayUpDraft:
    """Return a lay-up."""
    return LayUpDraft(
        from_on=row.from_on,
        storage=row.storage,
        to_on=row.to_on,
        expected_to=row.expected_to,
        preparations=tuple(row.preparations),
    )


def event_draft(row: ServiceEvent, entries: Iterable[EntryDraft]) -> ServiceEventDraft:
    """Return a service event with the entries given, which the caller reads for many at once."""
    return ServiceEventDraft(
        on=row.on_stated,
        odometer=row.odometer,
        done_by=row.done_by,
        cost=row.cost,
        currency=row.currency,
        note=row.note,
        entries=tuple(entries),
    )


def entry_draft(
    row: Entry, *, measurement: Measurement | None, carried_over: Iterable[Place]
) -> EntryDraft:
    """Return an entry, with its measurement and the parts it left alone.

    A move to a car that belongs to another collection by now is a removal as far as this one goes.
    """
    gone = row.moved_to is not None and row.moved_to.collection_id != row.collection_id
    return EntryDraft(
        place=place_of(row.component),
        action=Entry.Action.REMOVE.value if gone else row.action,
        manufactured=row.manufactured,
        date_code=row.date_code,
        part_number=row.part_number,
        supplier=row.supplier,
        price=row.price,
        carried_over=tuple(carried_over),
        measurement=None if measurement is None else _measurement_draft(measurement),
        note=row.note,
        to=None if gone else _destination(row),
    )


def _destination(row: Entry) -> Destination | None:
    if row.moved_to is None:
        return None
    there = row.moved_to
    elsewhere = there.vehicle_id != row.component.vehicle_id
    return Destination(there.position, there.vehicle.registration if elsewhere else "")


def _measurement_draft(row: Measurement) -> MeasurementDraft:
    return MeasurementDraft(quantity=row.quantity, value=row.value, unit=row.unit)


def inspection_draft(row: Inspection, findings: Iterable[Finding]) -> InspectionDraft:
    """Return an inspection with the findings given, which the caller reads for many at once."""
    return InspectionDraft(
        on=row.on,
        result=row.result,
        odometer=row.odometer,
        expires_on=row.expires_on,
        certificate=row.certificate,
        findings=tuple(
            FindingDraft(place=place_of(found.component), category=found.category, note=found.note)
            for found in findings
        ),
    )


def paper_draft(row: Paper) -> PaperDraft:
    """Return a paper that runs out."""
    return PaperDraft(
        kind=row.kind,
        until=row.until,
        issuer=row.issuer,
        number=row.number,
        from_on=row.from_on,
    )


def specification_draft(row: SpecificationLine) -> SpecificationDraft:
    """Return a line of the specification sheet."""
    return SpecificationDraft(
        item=row.item, value=row.value, unit=row.unit, handbook_page=row.handbook_page
    )


def departure_draft(row: Departure) -> DepartureDraft:
    """Return a departure."""
    return DepartureDraft(on=row.on, how=row.how, note=row.note)
