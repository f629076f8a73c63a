"""A car leaves the collection: sold, exported, broken up. Its record stays, readable and closed."""

import datetime

from django.db import transaction

from maintenance.models import Account, Departure, Vehicle
from maintenance.services.cars import car_of, locked
from maintenance.services.checks.departures import departure_problems
from maintenance.services.drafts import DepartureDraft
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import refuse_if_any
from maintenance.services.rows import Origin, departure_row, write


@transaction.atomic
def leave(
    *,
    vehicle: Vehicle,
    on: datetime.date,
    how: str,
    note: str = "",
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Departure:
    """Record that a car has left; `on` is the first day on which it was gone.

    One transaction under the lock of the car, whose due items go with it. A departure that was
    none, or a car that comes back, is told by `evidence.withdraw`.

    Refused: a day after today or before the car was built, an unknown way of leaving, and a car
    that has left already.
    """
    vehicle = locked(vehicle)
    draft = DepartureDraft(on=on, how=how, note=note)
    refuse_if_any(departure_problems(draft, car_of(vehicle), today))
    row = departure_row(draft, vehicle, Origin(by=by, at=at))
    write(row)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row
