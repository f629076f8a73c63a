"""Record roadworthiness inspections with their findings, and correct the record.

Every verb takes one transaction under the lock of the car and recomputes it.
"""

import datetime

from django.db import transaction

from maintenance.models import Account, Inspection, Vehicle
from maintenance.services.cars import car_of, components_of, locked, reading_conflicts
from maintenance.services.checks.inspections import inspection_problems
from maintenance.services.checks.odometer import shown_by_inspection
from maintenance.services.drafts import InspectionDraft
from maintenance.services.evidence import supersede
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import refuse_if_any
from maintenance.services.rows import Origin, inspection_rows, write


@transaction.atomic
def record_inspection(
    *,
    vehicle: Vehicle,
    draft: InspectionDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Inspection:
    """Record an inspection with its findings.

    Refused, with every field at fault: a day after today or before the car was built, an unknown
    result or category, an expiry of a failed inspection or before its day, a major or dangerous
    finding of a pass, a finding on a component that the car does not have, and a reading that
    contradicts the others.
    """
    return write_inspection(locked(vehicle), draft, Origin(by=by, at=at), today)


@transaction.atomic
def correct_inspection(
    *,
    inspection: Inspection,
    draft: InspectionDraft,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Inspection:
    """Supersede an inspection whole, findings and all; refused as a new one is."""
    origin = Origin(by=by, at=at, supersedes=inspection, reason=reason)
    return write_inspection(locked(inspection.vehicle), draft, origin, today)


def write_inspection(
    vehicle: Vehicle, draft: InspectionDraft, origin: Origin, today: datetime.date
) -> Inspection:
    """Check and write a record, in the caller's transaction under the lock of the car."""
    components = components_of(vehicle)
    refuse_if_any(inspection_problems(draft, car_of(vehicle, components), today))
    shown = shown_by_inspection(draft, prefix="")
    refuse_if_any(reading_conflicts(vehicle, shown, instead_of=origin.supersedes))
    supersede(origin)
    inspection, rest = inspection_rows(draft, vehicle, components, origin)
    write(inspection, *rest)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return inspection
