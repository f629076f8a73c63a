"""The rows of a history file as drafts.

A required value that is absent or unreadable becomes one that no check lets pass; the shape has
told of it already, and the record takes no part in anything further.
"""

import dataclasses
import datetime
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from maintenance.queries.due_answers import INSPECTION_KIND
from maintenance.services.drafts import (
    ComponentDraft,
    DepartureDraft,
    Destination,
    DueItemName,
    EntryDraft,
    FindingDraft,
    InspectionDraft,
    LayUpDraft,
    MeasurementDraft,
    OdometerChangeDraft,
    PaperDraft,
    Place,
    PostponementDraft,
    ReadingDraft,
    ServiceEventDraft,
    SpecificationDraft,
    VehicleDraft,
)
from maintenance.services.history_file import put_off_shape, shape

_NO_DAY: Final = datetime.date.min
_NO_NUMBER: Final = Decimal("NaN")


@dataclass(kw_only=True)
class CarContents:
    """A car with all that is said of it, in a file or in the database; lists by noun."""

    vehicle: VehicleDraft
    odometer_readings: list[ReadingDraft] = field(default_factory=list)
    odometer_changes: list[OdometerChangeDraft] = field(default_factory=list)
    lay_ups: list[LayUpDraft] = field(default_factory=list)
    components: list[ComponentDraft] = field(default_factory=list)
    service_events: list[ServiceEventDraft] = field(default_factory=list)
    inspections: list[InspectionDraft] = field(default_factory=list)
    papers: list[PaperDraft] = field(default_factory=list)
    specification: list[SpecificationDraft] = field(default_factory=list)
    postponements: list[PostponementDraft] = field(default_factory=list)
    departures: list[DepartureDraft] = field(default_factory=list)


def car_contents(row: shape.VehicleRow) -> CarContents:
    """Return what a file says of a car."""
    return CarContents(
        vehicle=_vehicle(row),
        odometer_readings=[
            ReadingDraft(on=one.on or _NO_DAY, value=_number(one.value))
            for one in row.odometer_readings or ()
        ],
        odometer_changes=[
            OdometerChangeDraft(
                on=one.on or _NO_DAY,
                old_value=_number(one.old_value),
                new_value=_number(one.new_value),
            )
            for one in row.odometer_changes or ()
        ],
        lay_ups=[_lay_up(one) for one in row.lay_ups or ()],
        components=[_component(one) for one in row.components or ()],
        service_events=[_event(one) for one in row.service_events or ()],
        inspections=[_inspection(one) for one in row.inspections or ()],
        papers=[_paper(one) for one in row.papers or ()],
        specification=[_line(one) for one in row.specification or ()],
        postponements=[_postponement(one) for one in row.postponements or ()],
        departures=[
            DepartureDraft(on=one.on or _NO_DAY, how=one.how or "", note=one.note or "")
            for one in row.departures or ()
        ],
    )


def stated_fields(row: shape.VehicleRow) -> set[str]:
    """Return the fields of the vehicle's draft that the file says something of."""
    names = {one.name for one in dataclasses.fields(VehicleDraft)}
    stated = {name for name in names & row.model_fields_set if getattr(row, name) is not None}
    if row.season is not None:
        stated |= {"season_from_month", "season_to_month"}
    return stated


def _vehicle(row: shape.VehicleRow) -> VehicleDraft:
    season = row.season or shape.SeasonRow()
    return VehicleDraft(
        registration=(row.registration or "").strip(),
        make=row.make or "",
        model=row.model or "",
        odometer_unit=row.odometer_unit or "",
        odometer_digits=6 if row.odometer_digits is None else row.odometer_digits,
        chassis_number=row.chassis_number or "",
        built_on=row.built_on,
        first_registered_on=row.first_registered_on,
        substantially_changed=row.substantially_changed,
        nominal_voltage=row.nominal_voltage,
        inspection_regime=row.inspection_regime or "",
        expected_annual_distance=row.expected_annual_distance,
        season_from_month=season.from_month,
        season_to_month=season.to_month,
    )


def _number(value: Decimal | None) -> Decimal:
    return _NO_NUMBER if value is None else value


_Placed = (
    shape.PlaceRow
    | shape.ComponentRow
    | shape.EntryRow
    | shape.FindingRow
    | put_off_shape.ComponentItemRow
    | put_off_shape.FindingItemRow
)


def _place(row: _Placed) -> Place:
    return Place(row.kind or "", row.position or "")


def _lay_up(row: shape.LayUpRow) -> LayUpDraft:
    return LayUpDraft(
        from_on=row.from_on or _NO_DAY,
        storage=row.storage or "",
        to_on=row.to_on,
        expected_to=row.expected_to,
        preparations=tuple(row.preparations or ()),
    )


def _component(row: shape.ComponentRow) -> ComponentDraft:
    return ComponentDraft(
        place=_place(row),
        assembly=None if row.assembly is None else _place(row.assembly),
        storage=row.storage or "",
    )


def _event(row: shape.ServiceEventRow) -> ServiceEventDraft:
    return ServiceEventDraft(
        on=row.on or "",
        odometer=row.odometer,
        done_by=row.done_by or "",
        cost=row.cost,
        currency=row.currency or "",
        note=row.note or "",
        entries=tuple(_entry(one) for one in row.entries or ()),
    )


def _entry(row: shape.EntryRow) -> EntryDraft:
    measured = row.measurement
    return EntryDraft(
        place=_place(row),
        action=row.action or "",
        manufactured=row.manufactured or "",
        date_code=row.date_code or "",
        part_number=row.part_number or "",
        supplier=row.supplier or "",
        price=row.price,
        carried_over=tuple(_place(one) for one in row.carried_over or ()),
        measurement=None
        if measured is None
        else MeasurementDraft(
            quantity=measured.quantity or "",
            value=_number(measured.value),
            unit=measured.unit or "",
        ),
        note=row.note or "",
        to=None
        if row.to is None
        else Destination(row.to.position or "", (row.to.vehicle or "").strip()),
    )


def _inspection(row: shape.InspectionRow) -> InspectionDraft:
    return InspectionDraft(
        on=row.on or _NO_DAY,
        result=row.result or "",
        odometer=row.odometer,
        expires_on=row.expires_on,
        certificate=row.certificate or "",
        findings=tuple(
            FindingDraft(place=_place(one), category=one.category or "", note=one.note or "")
            for one in row.findings or ()
        ),
    )


def _paper(row: shape.PaperRow) -> PaperDraft:
    return PaperDraft(
        kind=row.kind or "",
        until=row.until or _NO_DAY,
        issuer=row.issuer or "",
        number=row.number or "",
        from_on=row.from_on,
    )


def _line(row: shape.SpecificationRow) -> SpecificationDraft:
    return SpecificationDraft(
        item=row.item or "",
        value=row.value or "",
        unit=row.unit or "",
        handbook_page=row.handbook_page or "",
    )


def _postponement(row: put_off_shape.PostponementRow) -> PostponementDraft:
    return PostponementDraft(
        item=_item(row),
        rule=row.rule or "",
        until=row.until or _NO_DAY,
        why=row.why or "",
        since=row.since,
        gone=bool(row.gone),
    )


def _item(row: put_off_shape.PostponementRow) -> DueItemName:
    if row.component is not None:
        return DueItemName(
            of="component",
            place=_place(row.component),
            task=row.component.task or "",
            applies=row.component.applies or "always",
        )
    if row.finding is not None:
        return DueItemName(
            of="finding",
            place=_place(row.finding),
            on=row.finding.on,
            category=row.finding.category or "",
            note=row.finding.note or "",
            which=1 if row.finding.which is None else row.finding.which,
        )
    if row.paper is not None:
        return DueItemName(
            of="paper",
            place=Place(row.paper.kind or ""),
            number=row.paper.number or "",
            until=row.paper.until,
        )
    of = "inspection" if row.inspection else ""
    return DueItemName(of=of, place=Place(INSPECTION_KIND))
