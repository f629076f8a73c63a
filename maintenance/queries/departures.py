"""Which cars have left their collection."""

import datetime
import uuid
from collections.abc import Iterable

from django.db.models import QuerySet

from maintenance.models import Departure, Vehicle


def departures_of(vehicles: Iterable[uuid.UUID]) -> dict[uuid.UUID, Departure]:
    """Return the departures in force of some cars, by the car's identifier. One query."""
    rows = Departure.objects.filter(vehicle__in=list(vehicles), current=True, withdrawn=False)
    return {row.vehicle_id: row for row in rows}


def still_here(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Narrow cars to those that have not left their collection."""
    gone = Departure.objects.filter(current=True, withdrawn=False)
    return vehicles.exclude(pk__in=gone.values("vehicle"))


def present(vehicles: Iterable[Vehicle], on: datetime.date) -> list[Vehicle]:
    """Return those cars that have not left their collection by a day. One query."""
    cars = list(vehicles)
    gone = departures_of(car.pk for car in cars)
    return [car for car in cars if car.pk not in gone or gone[car.pk].on > on]
