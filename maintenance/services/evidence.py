"""Records are never changed: a later one supersedes them and says why."""

import dataclasses
import datetime
from typing import TypeVar

from django.db import transaction

from maintenance.models import Account, Arrival, Departure, ServiceEvent
from maintenance.models.base import Evidence
from maintenance.queries.moves import linked_cars
from maintenance.services.cars import locked, reading_conflicts
from maintenance.services.checks.figures import text_problems
from maintenance.services.moves import impossible_moves
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.rows import Origin, write

Record = TypeVar("Record", bound=Evidence)


def supersede(origin: Origin) -> None:
    """Take the record that a new one supersedes out of force, if there is one.

    To be called in the transaction that writes the new record, before it. Refused where no
    reason is given, and where the record was superseded before: the condition is part of the
    update, so that of two corrections at the same time one wins.
    """
    record = origin.supersedes
    if record is None:
        return
    refuse_if_any(text_problems("/reason", origin.reason, required=True))
    standing = type(record)._default_manager.filter(pk=record.pk, current=True)
    if record.withdrawn and not origin.undoes or standing.update(current=False) != 1:
        raise Refused(
            [Problem("", "was corrected or withdrawn before; correct the record now in force")]
        )
    record.current = False


@transaction.atomic
def withdraw(
    *,
    record: Record,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Record:
    """Take a record back and put nothing in its place; both stay visible.

    One transaction under the lock of the car, which is recomputed. Refused without a reason,
    where the record was superseded before, and where the odometer readings or the moves of parts
    that are left contradict each other. Returns the record of the withdrawal.
    """
    # What lets a car come back is the one thing that may be said of a closed record.
    vehicle = locked(record.vehicle, even_closed=isinstance(record, Departure))
    refuse_if_any(reading_conflicts(vehicle, [], instead_of=record))
    linked = linked_cars([vehicle])
    origin = Origin(by=by, at=at, supersedes=record, reason=reason)
    supersede(origin)
    row = _copy_of(record, withdrawn=True, **origin.columns(vehicle))
    write(row)
    if isinstance(record, ServiceEvent):
        withdraw_arrivals(record, origin)
        refuse_if_any(impossible_moves([vehicle, *linked], today=today, pointers={}))
    recompute_vehicles(vehicles=[vehicle, *linked], on=today)
    return row


def withdraw_arrivals(event: ServiceEvent, origin: Origin) -> None:
    """Take back what other cars were told of the parts that an event moved to them.

    To be called in the transaction that supersedes the event, under the locks of those cars.
    """
    standing = Arrival.objects.filter(move__event=event, current=True, withdrawn=False)
    for arrival in standing.select_related("vehicle").order_by("pk"):
        withdrawal = dataclasses.replace(origin, supersedes=arrival)
        supersede(withdrawal)
        write(_copy_of(arrival, withdrawn=True, **withdrawal.columns(arrival.vehicle)))


def _copy_of(record: Record, **changed: object) -> Record:
    kept = {
        field.name: getattr(record, field.name)
        for field in record._meta.concrete_fields
        if field.name not in {"id", "current", "collection", "salts", *changed}
    }
    return type(record)(**kept, **changed)
