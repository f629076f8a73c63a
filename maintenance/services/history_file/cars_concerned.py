"""Which stored cars a history file is about: all are locked, in one order, before any is read."""

from collections.abc import Iterator, Sequence

from maintenance.models import Collection, Vehicle
from maintenance.queries.marks import with_marks
from maintenance.services.cars import lock_all, locked_with_linked
from maintenance.services.history_file.contents import CarContents

_MARKS_AT_A_TIME = 500


def lock_cars(rows: Sequence[CarContents], collection: Collection, *, whole: bool) -> None:
    """Lock the cars of a file, those to which parts go, and those linked to them by parts.

    The whole collection where `whole`: a rule may be about any car. To be called in the
    transaction of the import, under the lock of the collection.
    """
    cars = Vehicle.objects.filter(collection=collection)
    if whole:
        lock_all(cars.values_list("pk", flat=True))
        return
    marks = sorted(set(_marks(rows)))
    found = [
        car
        for start in range(0, len(marks), _MARKS_AT_A_TIME)
        for car in with_marks(cars, marks[start : start + _MARKS_AT_A_TIME])
    ]
    locked_with_linked(found)


def _marks(rows: Sequence[CarContents]) -> Iterator[str]:
    for row in rows:
        yield row.vehicle.registration
        for event in row.service_events:
            yield from (one.to.vehicle for one in event.entries if one.to and one.to.vehicle)
