"""Which cars are linked by parts that went from one to another, and in which order things happened.

A car's due items follow from the records of every car that a part of it was on, so these are read,
locked and recomputed together. A car of another collection is another's: what its parts went
through there is not asked.
"""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from django.db.models import F

from maintenance.models import Arrival, Entry, ServiceEvent, Vehicle

Links = dict[uuid.UUID, set[uuid.UUID]]


def links_within(collections: Iterable[uuid.UUID]) -> Links:
    """Return between which cars of some collections parts went, both ways round. One query."""
    moves = (
        Entry.objects.filter(
            collection__in=set(collections),
            moved_to__isnull=False,
            event__current=True,
            event__withdrawn=False,
            moved_to__collection=F("collection"),
        )
        .exclude(moved_to__vehicle=F("event__vehicle"))
        .values_list("event__vehicle", "moved_to__vehicle")
    )
    found: Links = defaultdict(set)
    for one, other in moves:
        found[one].add(other)
        found[other].add(one)
    return found


def linked_groups(cars: Iterable[uuid.UUID], links: Links) -> list[list[uuid.UUID]]:
    """Return some cars with those linked to them, directly or through others, group by group.

    Groups stand in the order of their first car, the cars of each by identifier.
    """
    groups: list[list[uuid.UUID]] = []
    known: set[uuid.UUID] = set()
    for car in cars:
        if car in known:
            continue
        group, ahead = {car}, [car]
        while ahead:
            new = links.get(ahead.pop(), set()) - group
            group |= new
            ahead += new
        known |= group
        groups.append(sorted(group))
    return groups


def in_chunks(groups: Iterable[list[uuid.UUID]], most: int) -> Iterator[list[list[uuid.UUID]]]:
    """Yield groups together, so many cars at a time; a larger group stands alone."""
    chunk: list[list[uuid.UUID]] = []
    size = 0
    for group in groups:
        if chunk and size + len(group) > most:
            yield chunk
            chunk, size = [], 0
        chunk.append(group)
        size += len(group)
    if chunk:
        yield chunk


def linked_cars(cars: Sequence[Vehicle]) -> list[Vehicle]:
    """Return the cars that exchanged parts with some cars, directly or through others.

    Those given are left out. One query, and another where there are any.
    """
    links = links_within(car.collection_id for car in cars)
    known = {car.pk for car in cars}
    groups = linked_groups(known & links.keys(), links)
    found = {car for group in groups for car in group} - known
    return list(Vehicle.objects.filter(pk__in=found).order_by("pk")) if found else []


def parts_from_strangers(cars: Sequence[Vehicle]) -> list[Arrival]:
    """Return the arrivals of parts on some cars from cars that are another collection's by now.

    One query.
    """
    standing = Arrival.objects.filter(vehicle__in=cars, current=True, withdrawn=False)
    rows = standing.exclude(from_component__collection=F("collection"))
    return list(rows.select_related("from_component").order_by("on", "pk"))


def first_recorded(cars: Sequence[Vehicle]) -> dict[uuid.UUID, uuid.UUID]:
    """Return for each service event that corrects another the first one of its line.

    A correction stands in the order of its day where what it corrects stood. One query.
    """
    corrected = dict(
        ServiceEvent.objects.filter(vehicle__in=cars, supersedes__isnull=False).values_list(
            "id", "supersedes_id"
        )
    )
    return {event: _first(event, corrected) for event in corrected}


def _first(event: uuid.UUID, corrected: dict[uuid.UUID, uuid.UUID]) -> uuid.UUID:
    while event in corrected:
        event = corrected[event]
    return event
