"""Keep the calendar entries of cars in step with their due items."""

import datetime
import hashlib
import uuid
from collections.abc import Iterable
from typing import NamedTuple

from maintenance.models import CalendarEntry, CalendarFeed, DueItem, Vehicle
from maintenance.reminders.calendar.components import Edition, cancelled, texts_of
from maintenance.reminders.calendar.wording import Words, words_of

KEPT = datetime.timedelta(days=90)
"""How long a cancelled entry is shown, so that programs that seldom fetch learn of it."""

_TEXTS = ("event", "todo", "alarm")
_WRITTEN = ("sequence", "criticality", "content", "changed_at", "cancelled_at", *_TEXTS)
_Name = tuple[uuid.UUID, str, str]


class Shown(NamedTuple):
    """A due item as it stands now, and the cycle it is in."""

    item: DueItem
    cycle: str


def refresh(*, vehicles: Iterable[Vehicle], items: Iterable[Shown], at: datetime.datetime) -> int:
    """Write the calendar entries of some cars of one collection anew where they differ.

    `items` are all due items of those cars, with their stored identifiers. To be called in the
    transaction that stores the items. Only cars that some feed is about have entries; for the
    others nothing is done but to ask so. An entry that looks the same is left alone, so its
    revision tells the truth; one whose item is gone or in another cycle is cancelled; one
    cancelled for longer than `KEPT` is deleted. Returns how many entries were written.
    """
    cars = _with_feeds({car.id: car for car in vehicles})
    if not cars:
        return 0
    wanted = {
        (item.vehicle_id, item.key, cycle): item for item, cycle in items if item.vehicle_id in cars
    }
    of_cars = CalendarEntry.objects.filter(vehicle__in=list(cars))
    of_cars.filter(cancelled_at__lt=at - KEPT).delete()
    # Cancelled entries are read too: work that is withdrawn brings the cycle before it back.
    stored = {(row.vehicle_id, row.key, row.cycle): row for row in of_cars.defer(*_TEXTS)}
    added, revised = _differing(wanted, stored, cars, at)
    gone = [row.id for name, row in stored.items() if name not in wanted and not row.cancelled_at]
    for row in CalendarEntry.objects.filter(id__in=gone):
        _cancel(row, at)
        revised.append(row)
    CalendarEntry.objects.bulk_create(added, batch_size=500)
    CalendarEntry.objects.bulk_update(revised, _WRITTEN, batch_size=100)
    return len(added) + len(revised)


def _with_feeds(cars: dict[uuid.UUID, Vehicle]) -> dict[uuid.UUID, Vehicle]:
    """Return the cars that some feed is about; one query."""
    collections = {car.collection_id for car in cars.values()}
    feeds = CalendarFeed.objects.filter(collection__in=collections)
    members, single = set(), set()
    for scope, member, vehicle in feeds.values_list("scope", "member_id", "vehicle_id"):
        if scope == CalendarFeed.Scope.COLLECTION:
            return cars
        if vehicle:
            single.add(vehicle)
        else:
            members.add(member)
    return {key: car for key, car in cars.items() if key in single or car.keeper_id in members}


def _differing(
    wanted: dict[_Name, DueItem],
    stored: dict[_Name, CalendarEntry],
    cars: dict[uuid.UUID, Vehicle],
    at: datetime.datetime,
) -> tuple[list[CalendarEntry], list[CalendarEntry]]:
    """Return entries to add and entries whose texts were written anew."""
    added, revised = [], []
    for name, item in wanted.items():
        words, row = words_of(item, cars[item.vehicle_id]), stored.get(name)
        content = _digest(words)
        if row is None:
            row = _new(item, name, at)
            added.append(row)
        elif row.content != content or row.cancelled_at:
            row.sequence, row.changed_at, row.cancelled_at = row.sequence + 1, at, None
            revised.append(row)
        else:
            continue
        row.content, row.criticality = content, words.criticality
        edition = Edition(row.uid, row.sequence, row.first_shown_at, row.changed_at)
        row.event, row.todo, row.alarm = texts_of(words, edition)
    return added, revised


def _new(item: DueItem, name: _Name, at: datetime.datetime) -> CalendarEntry:
    vehicle, key, cycle = name
    return CalendarEntry(
        collection_id=item.collection_id,
        vehicle_id=vehicle,
        key=key,
        cycle=cycle,
        first_shown_at=at,
        changed_at=at,
    )


def _cancel(row: CalendarEntry, at: datetime.datetime) -> None:
    row.sequence, row.changed_at, row.cancelled_at = row.sequence + 1, at, at
    row.event = cancelled(row.event, sequence=row.sequence, at=at)
    row.todo = cancelled(row.todo, sequence=row.sequence, at=at)
    row.alarm = ""


def _digest(words: Words) -> str:
    return hashlib.sha256(repr(words).encode()).hexdigest()
