"""Lay a car up, end the lay-up, correct what was recorded of it.

Every verb takes one transaction under the lock of the car and recomputes it.
"""

import dataclasses
import datetime

from django.db import transaction

from maintenance.models import Account, LayUp, Vehicle
from maintenance.services.as_drafts import lay_up_draft
from maintenance.services.cars import car_of, lay_ups_of, locked
from maintenance.services.checks.lay_ups import (
    end_problems,
    lay_up_problems,
    overlap_problems,
)
from maintenance.services.drafts import LayUpDraft
from maintenance.services.evidence import supersede
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.rows import Origin, lay_up_row, write


@transaction.atomic
def lay_up(
    *,
    vehicle: Vehicle,
    draft: LayUpDraft,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> LayUp:
    """Record a lay-up, past or beginning.

    Refused: a first or last day after today, a first day before the car was built, an unknown
    storage grade, an end that is not after its beginning, and a day shared with another lay-up.
    """
    return write_lay_up(locked(vehicle), draft, Origin(by=by, at=at), today)


@transaction.atomic
def end_lay_up(
    *,
    vehicle: Vehicle,
    on: datetime.date,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> LayUp:
    """End the lay-up that lasts; `on` is the first day back in use.

    Refused where the car is not laid up, and for a day after today or not after the beginning.
    """
    vehicle = locked(vehicle)
    lasting = LayUp.objects.filter(
        vehicle=vehicle, to_on__isnull=True, current=True, withdrawn=False
    ).first()
    if lasting is None:
        raise Refused([Problem("", f"{vehicle.registration} is not laid up; there is none to end")])
    refuse_if_any(end_problems(on, lasting.from_on, today))
    origin = Origin(by=by, at=at, supersedes=lasting, reason=f"ended on {on}")
    return write_lay_up(
        vehicle, dataclasses.replace(lay_up_draft(lasting), to_on=on), origin, today
    )


@transaction.atomic
def correct_lay_up(
    *,
    lay_up: LayUp,
    draft: LayUpDraft,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> LayUp:
    """Supersede a lay-up; refused as a new one is, and where it was superseded before."""
    origin = Origin(by=by, at=at, supersedes=lay_up, reason=reason)
    return write_lay_up(locked(lay_up.vehicle), draft, origin, today)


def write_lay_up(
    vehicle: Vehicle, draft: LayUpDraft, origin: Origin, today: datetime.date
) -> LayUp:
    """Check and write a record, in the caller's transaction under the lock of the car."""
    refuse_if_any(lay_up_problems(draft, car_of(vehicle), today))
    others = lay_ups_of(vehicle, without=origin.supersedes)
    refuse_if_any(overlap_problems([*others, ("/from", draft)]))
    supersede(origin)
    row = lay_up_row(draft, vehicle, origin)
    write(row)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row
