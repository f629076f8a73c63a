"""What somebody supposes of the time to come, in plain values, before it is checked.

Drafts of records are in `drafts`; nothing here is ever recorded.
"""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from maintenance.services.drafts import Place

MONTHS = 60


@dataclass(frozen=True, kw_only=True)
class PlannedLayUp:
    """A lay-up to come, half-open."""

    from_on: datetime.date
    to_on: datetime.date
    storage: str


@dataclass(frozen=True, kw_only=True)
class PlannedDistance:
    """A distance to come in the odometer's unit: a year, or in all by a day."""

    amount: Decimal
    by: datetime.date | None = None


@dataclass(frozen=True, kw_only=True)
class PlannedWork:
    """A piece of work to be done on a day; an inspection passed is that of the whole car."""

    place: Place
    task: str
    on: datetime.date


@dataclass(frozen=True, kw_only=True)
class PlanDraft:
    """What is supposed of the time to come; `return_on` ends the lay-up that lasts."""

    lay_ups: tuple[PlannedLayUp, ...] = ()
    return_on: datetime.date | None = None
    distance: PlannedDistance | None = None
    done: tuple[PlannedWork, ...] = ()
    months: int = MONTHS
