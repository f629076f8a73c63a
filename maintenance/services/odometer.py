"""Record what the odometer showed, and that the instrument was changed.

Every verb takes one transaction under the lock of the car, refuses what contradicts the other
readings of the car (those of service events and inspections among them), and recomputes the car.
"""

import datetime

from django.db import transaction

from maintenance.models import Account, OdometerChange, OdometerReading, Vehicle
from maintenance.services.cars import car_of, locked, reading_conflicts
from maintenance.services.checks.odometer import (
    change_problems,
    reading_problems,
    shown_by_change,
    shown_by_reading,
)
from maintenance.services.drafts import OdometerChangeDraft, ReadingDraft
from maintenance.services.evidence import supersede
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rows import Origin, change_row, reading_row, write


@transaction.atomic
def record_reading(
    *,
    vehicle: Vehicle,
    draft: ReadingDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> OdometerReading:
    """Record a reading.

    Refused: a day after today or before the car was built, a value that its digits cannot show,
    and one that contradicts the other readings.
    """
    return write_reading(locked(vehicle), draft, Origin(by=by, at=at), today)


@transaction.atomic
def correct_reading(
    *,
    reading: OdometerReading,
    draft: ReadingDraft,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> OdometerReading:
    """Supersede a reading; refused as a new one is, and where it was superseded before."""
    origin = Origin(by=by, at=at, supersedes=reading, reason=reason)
    return write_reading(locked(reading.vehicle), draft, origin, today)


@transaction.atomic
def record_change(
    *,
    vehicle: Vehicle,
    draft: OdometerChangeDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> OdometerChange:
    """Record that the instrument was changed.

    Refused as a reading is, and where a change is recorded for that day already.
    """
    return write_change(locked(vehicle), draft, Origin(by=by, at=at), today)


@transaction.atomic
def correct_change(
    *,
    change: OdometerChange,
    draft: OdometerChangeDraft,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> OdometerChange:
    """Supersede a change of instrument; refused as a new one is."""
    origin = Origin(by=by, at=at, supersedes=change, reason=reason)
    return write_change(locked(change.vehicle), draft, origin, today)


def write_reading(
    vehicle: Vehicle, draft: ReadingDraft, origin: Origin, today: datetime.date
) -> OdometerReading:
    """Check and write a record, in the caller's transaction under the lock of the car."""
    refuse_if_any(reading_problems(draft, car_of(vehicle), today))
    shown = shown_by_reading(draft, prefix="")
    refuse_if_any(reading_conflicts(vehicle, shown, instead_of=origin.supersedes))
    supersede(origin)
    row = reading_row(draft, vehicle, origin)
    write(row)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row


def write_change(
    vehicle: Vehicle, draft: OdometerChangeDraft, origin: Origin, today: datetime.date
) -> OdometerChange:
    """Check and write a record, in the caller's transaction under the lock of the car."""
    refuse_if_any(change_problems(draft, car_of(vehicle), today))
    others = OdometerChange.objects.filter(
        vehicle=vehicle, on=draft.on, current=True, withdrawn=False
    ).exclude(pk__in=[origin.supersedes.pk] if origin.supersedes else [])
    if others.exists():
        text = f"a change of the instrument is recorded for {draft.on} already; correct that one"
        refuse_if_any([Problem("/on", text)])
    shown = shown_by_change(draft, prefix="")
    refuse_if_any(reading_conflicts(vehicle, shown, instead_of=origin.supersedes))
    supersede(origin)
    row = change_row(draft, vehicle, origin)
    write(row)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row
