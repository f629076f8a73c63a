"""What a plan is asked for, in plain values, before it is checked."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from maintenance.services.drafts import MeasurementDraft

#: As written in requests, commands and on job sheets, in the order of ISO 8601.
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_SEARCH = 20
"""Most seconds that a search may take; a request waits for it."""


@dataclass(frozen=True, kw_only=True)
class SpanDraft:
    """Days from the first to the last, both included."""

    from_on: datetime.date
    to_on: datetime.date


@dataclass(frozen=True, kw_only=True)
class HoursDraft:
    """Hours worked on one weekday, every week, local time."""

    weekday: str
    begins_at: datetime.time
    ends_at: datetime.time


@dataclass(frozen=True, kw_only=True)
class PersonDraft:
    """Somebody who works on the car; the cost is in the plan's currency."""

    name: str
    hours: tuple[HoursDraft, ...]
    skills: tuple[str, ...] = ()
    away: tuple[SpanDraft, ...] = ()
    cost_per_hour: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class ResourceDraft:
    """Something that jobs share; `weekdays` empty for every day.

    `used_for` names the component kinds whose jobs need it, beside what the rules know.
    """

    name: str
    capacity: int = 1
    daily_cost: Decimal = Decimal(0)
    whole_span: bool = False
    weekdays: tuple[str, ...] = ()
    closed: tuple[SpanDraft, ...] = ()
    used_for: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class RecommissioningDraft:
    """A plan; without a currency that of the collection's offers is taken where they have one."""

    by: datetime.date
    starts_on: datetime.date
    people: tuple[PersonDraft, ...]
    resources: tuple[ResourceDraft, ...] = ()
    closed: tuple[SpanDraft, ...] = ()
    budget: Decimal | None = None
    currency: str = ""
    rate_per_hour: Decimal = Decimal(0)
    seed: int = 1
    time_limit: int = 10


@dataclass(frozen=True, kw_only=True)
class WishDraft:
    """A piece of work that the keeper wants beside what the car asks for."""

    kind: str
    task: str
    position: str = ""
    reason: str = ""


@dataclass(frozen=True, kw_only=True)
class DoneDraft:
    """How a job was done; `cost` is what was paid for it without labour."""

    on: datetime.date
    hours: Decimal | None = None
    cost: Decimal | None = None
    odometer: Decimal | None = None
    done_by: str = ""
    note: str = ""
    measurement: MeasurementDraft | None = None


@dataclass(frozen=True, kw_only=True)
class OfferDraft:
    """What a part costs at a supplier, and how long it takes to come."""

    kind: str
    name: str
    price: Decimal
    currency: str
    position: str = ""
    make: str = ""
    model: str = ""
    part_number: str = ""
    supplier: str = ""
    quantity: int = 1
    lead_days: int = 0
    sold_separately: bool = True


@dataclass(frozen=True, kw_only=True)
class VisitDraft:
    """What a plan of visits is asked for; money in the currency."""

    months: int = 24
    cost_of_visit: Decimal = Decimal(60)
    rate_per_hour: Decimal = Decimal(45)
    late_per_day: Decimal = Decimal(1)
    currency: str = "EUR"
    hours_per_week: float | None = None
    weekdays: tuple[str, ...] = WEEKDAYS[:5]
    closed: tuple[SpanDraft, ...] = ()
    seed: int = 1
    effort: float = 3.0
    time_limit: int = 10


def weekly(days: tuple[str, ...], hours: float, begins_at: int = 9) -> tuple[HoursDraft, ...]:
    """Return the same hours on each of some weekdays, from nine in the morning unless told."""
    minutes = min(round(begins_at * 60 + hours * 60), 24 * 60 - 30)
    begin, end = datetime.time(begins_at), datetime.time(minutes // 60, minutes % 60)
    return tuple(HoursDraft(weekday=day, begins_at=begin, ends_at=end) for day in days)
