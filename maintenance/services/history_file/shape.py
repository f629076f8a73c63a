"""The keys of a history file and the kind of their values. What the values mean is checked later.

All figures of a car are in the unit of its odometer; days are local calendar days.
"""

from typing import Annotated, Any, ClassVar

from pydantic import Field

from maintenance.engine.columns import ACTIONS, GRADES
from maintenance.services.checks.departures import HOW
from maintenance.services.checks.inspections import CATEGORIES, RESULTS
from maintenance.services.checks.vehicles import NOMINAL_VOLTAGES, ODOMETER_DIGITS
from maintenance.services.history_file.put_off_shape import PostponementRow
from maintenance.services.history_file.rule_shape import RuleRow
from maintenance.services.history_file.tolerant import Day, Flag, Number, Text, Tolerant, Whole
from maintenance.services.history_file.words import (
    Kind,
    Manufactured,
    Position,
    StatedDay,
    Unit,
    number_of,
    one_of,
)


class CollectionRow(Tolerant):
    """The collection; km or mi is the unit in which it is spoken of as a whole."""

    name: Text | None = None
    time_zone: Text | None = None
    distance_unit: Unit | None = None


class ReadingRow(Tolerant):
    """What the odometer showed on a day."""

    required: ClassVar = ("on", "value")

    on: Day | None = None
    value: Number | None = None


class OdometerChangeRow(Tolerant):
    """An instrument exchanged: what the old and the new one showed that day."""

    required: ClassVar = ("on", "old_value", "new_value")

    on: Day | None = None
    old_value: Number | None = None
    new_value: Number | None = None


class LayUpRow(Tolerant):
    """A period off the road; `to` is the first day back in use, absent while it lasts."""

    required: ClassVar = ("from", "storage")

    from_on: Day | None = Field(None, alias="from")
    to_on: Day | None = Field(None, alias="to")
    expected_to: Day | None = None
    storage: Annotated[Text, one_of(*GRADES)] | None = None
    preparations: list[Text] | None = None


class PlaceRow(Tolerant):
    """A component of the car; a bare kind will do where the car has one of it."""

    required: ClassVar = ("kind",)

    kind: Kind | None = None
    position: Position | None = None

    @classmethod
    def as_object(cls, value: Any) -> Any:
        """Take a bare kind for a place."""
        return {"kind": value} if isinstance(value, str) else value


class ComponentRow(Tolerant):
    """A place on the car that carries something that ages or wears, or with `storage` a shelf."""

    required: ClassVar = ("kind",)

    kind: Kind | None = None
    position: Position | None = None
    assembly: PlaceRow | None = None
    storage: Annotated[Text, one_of(*GRADES)] | None = None


class MeasurementRow(Tolerant):
    """A quantity read, in its unit."""

    required: ClassVar = ("quantity", "value", "unit")

    quantity: Text | None = None
    value: Number | None = None
    unit: Text | None = None


class DestinationRow(Tolerant):
    """Where a move takes a part: to a position of its kind, on this car or another one."""

    required: ClassVar = ()

    position: Position | None = None
    vehicle: Annotated[Text, Field(description="Registration, if another car.")] | None = None


class EntryRow(Tolerant):
    """One action on one component."""

    required: ClassVar = ("kind", "action")

    kind: Kind | None = None
    position: Position | None = None
    action: Annotated[Text, one_of(*ACTIONS)] | None = None
    manufactured: Manufactured | None = None
    date_code: Annotated[Text, Field(description="A tyre's date code, such as 3104.")] | None = None
    part_number: Text | None = None
    supplier: Text | None = None
    price: Number | None = None
    carried_over: list[PlaceRow] | None = None
    measurement: MeasurementRow | None = None
    note: Text | None = None
    to: DestinationRow | None = None


class ServiceEventRow(Tolerant):
    """What was done on one day at one odometer reading, by whom, at what cost."""

    required: ClassVar = ("on",)

    on: StatedDay | None = None
    odometer: Number | None = None
    done_by: Text | None = None
    cost: Number | None = None
    currency: Annotated[Text, Field(description="Three letters of ISO 4217.")] | None = None
    note: Text | None = None
    entries: list[EntryRow] | None = None


class FindingRow(Tolerant):
    """A fault or advice named by an inspection (Directive 2014/45/EU, Article 7)."""

    required: ClassVar = ("kind", "category")

    kind: Kind | None = None
    position: Position | None = None
    category: Annotated[Text, one_of(*CATEGORIES)] | None = None
    note: Text | None = None


class InspectionRow(Tolerant):
    """A roadworthiness inspection; `expires_on` is the last day of validity."""

    required: ClassVar = ("on", "result")

    on: Day | None = None
    odometer: Number | None = None
    result: Annotated[Text, one_of(*RESULTS)] | None = None
    expires_on: Day | None = None
    certificate: Text | None = None
    findings: list[FindingRow] | None = None


class PaperRow(Tolerant):
    """A paper or piece of kit that runs out; `until` is the last day of validity."""

    required: ClassVar = ("kind", "until")

    kind: Text | None = None
    issuer: Text | None = None
    number: Text | None = None
    from_on: Day | None = Field(None, alias="from")
    until: Day | None = None


class SpecificationRow(Tolerant):
    """One figure of the specification sheet, with the page of the handbook."""

    required: ClassVar = ("item", "value")

    item: Text | None = None
    value: Text | None = None
    unit: Text | None = None
    handbook_page: Text | None = None


class DepartureRow(Tolerant):
    """That the car has left the collection; `on` is the first day on which it was gone."""

    required: ClassVar = ("on", "how")

    on: Day | None = None
    how: Annotated[Text, one_of(*HOW)] | None = None
    note: Text | None = None


class SeasonRow(Tolerant):
    """The months, 1 to 12, in which a seasonal plate may be used."""

    required: ClassVar = ("from_month", "to_month")

    from_month: Whole | None = None
    to_month: Whole | None = None


class VehicleRow(Tolerant):
    """A car with its history."""

    required: ClassVar = ("registration", "make", "model", "odometer_unit")

    registration: Text | None = None
    chassis_number: Text | None = None
    make: Text | None = None
    model: Text | None = None
    built_on: Day | None = None
    first_registered_on: Day | None = None
    substantially_changed: Flag | None = None
    nominal_voltage: Annotated[Whole, number_of(*NOMINAL_VOLTAGES)] | None = None
    odometer_unit: Unit | None = None
    odometer_digits: Annotated[Whole, number_of(*ODOMETER_DIGITS)] | None = None
    inspection_regime: Text | None = None
    expected_annual_distance: Whole | None = None
    season: SeasonRow | None = None
    odometer_readings: list[ReadingRow] | None = None
    odometer_changes: list[OdometerChangeRow] | None = None
    lay_ups: list[LayUpRow] | None = None
    components: list[ComponentRow] | None = None
    service_events: list[ServiceEventRow] | None = None
    inspections: list[InspectionRow] | None = None
    papers: list[PaperRow] | None = None
    specification: list[SpecificationRow] | None = None
    postponements: list[PostponementRow] | None = None
    departures: (
        Annotated[
            list[DepartureRow],
            Field(
                description="At most one. Whatever else the file says of the car is recorded "
                "first; then its record is closed.",
                json_schema_extra={"maxItems": 1},
            ),
        ]
        | None
    ) = None
    history_head: (
        Annotated[
            Text,
            Field(
                description="Digest that stood for all that was recorded of the car when it was "
                "exported; an import leaves it aside."
            ),
        ]
        | None
    ) = None


class HistoryFile(Tolerant):
    """Cars with all that is recorded of them, the collection they belong to and its own rules."""

    required: ClassVar = ("vehicles",)

    collection: CollectionRow | None = None
    interval_rules: list[RuleRow] | None = None
    vehicles: list[VehicleRow] | None = None
