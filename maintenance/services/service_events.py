"""Record what was done on a car, and correct the record.

Every verb takes one transaction under the lock of the car and recomputes it.
"""

import datetime

from django.db import transaction

from maintenance.models import Account, Entry, ServiceEvent, Vehicle
from maintenance.queries.moves import linked_cars
from maintenance.services.cars import car_of, components_of, locked, reading_conflicts
from maintenance.services.checks.odometer import shown_by_event
from maintenance.services.checks.service_events import event_problems
from maintenance.services.drafts import ServiceEventDraft
from maintenance.services.evidence import supersede, withdraw_arrivals
from maintenance.services.moves import cars_moved_to, impossible_moves, places_on
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import refuse_if_any
from maintenance.services.rows import Origin, event_rows, write


@transaction.atomic
def record_service_event(
    *,
    vehicle: Vehicle,
    draft: ServiceEventDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> ServiceEvent:
    """Record a service event with its entries, measurements and parts carried over.

    Refused, with every field at fault: a day after today or before the car was built, a
    component that the car does not have, an unknown kind, action, quantity or unit, a number
    that is not believable, a part made after it was fitted, a part carried over that does not
    belong to the assembly, a reading that contradicts the others, and a move of a part that is
    not there, or to a place that another one is in.
    """
    vehicle = locked(vehicle, and_others=cars_moved_to(vehicle, draft))
    return write_service_event(vehicle, draft, Origin(by=by, at=at), today)


@transaction.atomic
def correct_service_event(
    *,
    event: ServiceEvent,
    draft: ServiceEventDraft,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> ServiceEvent:
    """Supersede a service event whole, entries and all; refused as a new one is."""
    origin = Origin(by=by, at=at, supersedes=event, reason=reason)
    vehicle = locked(event.vehicle, and_others=cars_moved_to(event.vehicle, draft))
    return write_service_event(vehicle, draft, origin, today)


def write_service_event(
    vehicle: Vehicle, draft: ServiceEventDraft, origin: Origin, today: datetime.date
) -> ServiceEvent:
    """Check and write a record, in the caller's transaction under the lock of the car.

    Cars to which parts go, or went by the record that is superseded, are locked by the caller too.
    """
    components = components_of(vehicle)
    others = cars_moved_to(vehicle, draft)
    refuse_if_any(event_problems(draft, car_of(vehicle, components, others), today))
    shown = shown_by_event(draft, prefix="")
    refuse_if_any(reading_conflicts(vehicle, shown, instead_of=origin.supersedes))
    concerned = [vehicle, *linked_cars([vehicle])]
    supersede(origin)
    if isinstance(origin.supersedes, ServiceEvent):
        withdraw_arrivals(origin.supersedes, origin)
    event, rest = event_rows(draft, vehicle, components, origin, places_on(others))
    write(event, *rest)
    pointers = {row.pk: f"/entries/{row.sequence}" for row in rest if isinstance(row, Entry)}
    refuse_if_any(impossible_moves(concerned, today=today, pointers=pointers))
    recompute_vehicles(vehicles=concerned, on=today)
    return event
