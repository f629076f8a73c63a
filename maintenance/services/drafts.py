"""What somebody wants recorded, in plain values, before it is checked and written.

Requests and history files are turned into drafts, and stored records into drafts again to be
compared and exported, so that one check and one meaning serve all. Equal drafts say the same.
"""

import datetime
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple


class Place(NamedTuple):
    """A component of a car, by its kind and its position (empty where there is only one)."""

    kind: str
    position: str = ""

    def __str__(self) -> str:
        return f"{self.kind} {self.position}".strip()


class Destination(NamedTuple):
    """Where a move takes a part: to a position of its kind, on the car of a registration.

    An empty registration means the same car.
    """

    position: str = ""
    vehicle: str = ""

    def of(self, kind: str) -> str:
        """Return the place in words."""
        on = f" of {self.vehicle}" if self.vehicle else ""
        return f"{kind} {self.position}".strip() + on


@dataclass(frozen=True, kw_only=True)
class VehicleDraft:
    """A car; `expected_annual_distance` is in the unit of the odometer."""

    registration: str
    make: str
    model: str
    odometer_unit: str
    odometer_digits: int = 6
    chassis_number: str = ""
    built_on: datetime.date | None = None
    first_registered_on: datetime.date | None = None
    substantially_changed: bool | None = None
    nominal_voltage: int | None = None
    inspection_regime: str = ""
    expected_annual_distance: int | None = None
    season_from_month: int | None = None
    season_to_month: int | None = None


@dataclass(frozen=True, kw_only=True)
class ComponentDraft:
    """A component and, if it is part of another, that assembly; `storage` makes it a shelf."""

    place: Place
    assembly: Place | None = None
    storage: str = ""


@dataclass(frozen=True, kw_only=True)
class ReadingDraft:
    """What the odometer showed on a day."""

    on: datetime.date
    value: Decimal


@dataclass(frozen=True, kw_only=True)
class OdometerChangeDraft:
    """An instrument exchanged: what the old and the new one showed that day."""

    on: datetime.date
    old_value: Decimal
    new_value: Decimal


@dataclass(frozen=True, kw_only=True)
class LayUpDraft:
    """A period off the road; `to_on` is the first day back in use, empty while it lasts."""

    from_on: datetime.date
    storage: str
    to_on: datetime.date | None = None
    expected_to: datetime.date | None = None
    preparations: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MeasurementDraft:
    """A quantity read, in its unit."""

    quantity: str
    value: Decimal
    unit: str


@dataclass(frozen=True, kw_only=True)
class EntryDraft:
    """One action on one component; `carried_over` are parts of it that a renewal left alone.

    `to` says where a move takes the part.
    """

    place: Place
    action: str
    manufactured: str = ""
    date_code: str = ""
    part_number: str = ""
    supplier: str = ""
    price: Decimal | None = None
    carried_over: tuple[Place, ...] = ()
    measurement: MeasurementDraft | None = None
    note: str = ""
    to: Destination | None = None


@dataclass(frozen=True, kw_only=True)
class ServiceEventDraft:
    """What was done on one day; `on` is a date, or a month or year where no more is known."""

    on: str
    odometer: Decimal | None = None
    done_by: str = ""
    cost: Decimal | None = None
    currency: str = ""
    note: str = ""
    entries: tuple[EntryDraft, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FindingDraft:
    """A fault or advice named by an inspection."""

    place: Place
    category: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class InspectionDraft:
    """A roadworthiness inspection; `expires_on` is the last day of validity."""

    on: datetime.date
    result: str
    odometer: Decimal | None = None
    expires_on: datetime.date | None = None
    certificate: str = ""
    findings: tuple[FindingDraft, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PaperDraft:
    """A dated paper or piece of kit; `until` is the last day of validity."""

    kind: str
    until: datetime.date
    issuer: str = ""
    number: str = ""
    from_on: datetime.date | None = None


@dataclass(frozen=True, kw_only=True)
class SpecificationDraft:
    """One figure of a car's specification sheet."""

    item: str
    value: str
    unit: str = ""
    handbook_page: str = ""


@dataclass(frozen=True, kw_only=True)
class DepartureDraft:
    """That a car has left the collection; `on` is the first day on which it was gone."""

    on: datetime.date
    how: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class DueItemName:
    """What tells a due item from the others of its car, in words that hold in any database.

    `of` is one of `component`, `inspection`, `finding` and `paper`. `place`, `task` and `applies`
    tell what a rule asks of a component; `place`, the day `on` which the inspection was failed,
    `category`, `note` and `which` of those that say the same tell a finding; the kind in `place`,
    `number` and `until` tell a paper.
    """

    of: str
    place: Place = Place("")
    task: str = ""
    applies: str = ""
    on: datetime.date | None = None
    category: str = ""
    note: str = ""
    which: int = 1
    number: str = ""
    until: datetime.date | None = None

    def bare(self) -> "DueItemName":
        """Return what is still known of an item once its finding or paper is on record no more."""
        return replace(self, on=None, category="", note="", which=1, number="", until=None)


@dataclass(frozen=True, kw_only=True)
class PostponementDraft:
    """A due item put off until a day, that day included, and why.

    `rule` is what the item was called then, `since` the day on which its clock had started, if any
    was known. `gone` says that nothing on record asks for the item any more.
    """

    item: DueItemName
    rule: str
    until: datetime.date
    why: str
    since: datetime.date | None = None
    gone: bool = False
