"""Parts that by a history file go to cars that have left."""

from collections.abc import Iterator, Sequence

from maintenance.models import Collection, Vehicle
from maintenance.queries.departures import departures_of
from maintenance.services.cars import closed_problem
from maintenance.services.history_file.compare import FileCar
from maintenance.services.refusals import Problem


def closed_destinations(cars: Sequence[FileCar], collection: Collection) -> Iterator[Problem]:
    """Refuse new moves of parts to cars whose record is closed, for they are recorded there too.

    A car that leaves by this very file takes them first.
    """
    moves = list(_moves(cars))
    marks = {mark for _, mark in moves}
    if not marks or collection._state.adding:
        return
    rows = Vehicle.objects.filter(collection=collection, registration__in=marks)
    stored = {row.registration: row for row in rows}
    stored |= {
        car.contents.vehicle.registration: car.stored.row for car in cars if car.stored is not None
    }
    gone = departures_of(row.pk for row in stored.values())
    for pointer, mark in moves:
        row = stored.get(mark)
        if row is not None and row.pk in gone:
            yield closed_problem(row, gone[row.pk]).under(pointer)


def _moves(cars: Sequence[FileCar]) -> Iterator[tuple[str, str]]:
    """Yield the other cars to which new events take parts, each with where the file says so."""
    for car in cars:
        for place in car.new["service_events"]:
            for at, entry in enumerate(car.contents.service_events[place].entries):
                if entry.to is not None and entry.to.vehicle:
                    pointer = f"{car.prefix}/service_events/{place}/entries/{at}/to/vehicle"
                    yield pointer, entry.to.vehicle
