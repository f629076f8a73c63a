"""Bring the stored due items of cars up to date with their records."""

import datetime
import itertools
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from django.db import transaction

from maintenance.models import Collection, Component, DueItem, Vehicle
from maintenance.queries.due_answers import Answers
from maintenance.queries.today import this_instant
from maintenance.reminders.calendar.entries import Shown, refresh
from maintenance.services.cars import all_locked, locked_with_linked
from maintenance.services.collisions import twice_if_need_be

CHUNK: Final = 50
"""Cars taken at a time: enough to spread the cost of the queries, few enough that whoever writes to
one of them meanwhile does not wait long, for they are locked. 500 at a time were no quicker."""

_IDENTITY: Final = {"id", "collection", "vehicle", "key", "changed_on", "revision"}
_FIELDS: Final = tuple(
    field.attname for field in DueItem._meta.concrete_fields if field.name not in _IDENTITY
)


@transaction.atomic
def recompute_vehicles(*, vehicles: Iterable[Vehicle], on: datetime.date) -> int:
    """Store what the engine says of some cars of one collection; return how many items changed.

    One transaction, or a part of the caller's, under the locks of the cars: of two that compute a
    car at once the later one reads what the earlier one's caller wrote, and no answer is
    overwritten by an older one. Cars to which parts of theirs went follow from the same records,
    so they are computed with them. Only items whose answer differs are written; one
    that is no longer asked for is deleted. An item keeps its row, and so its identifier, as long
    as its component and rule, inspection, finding or paper last.
    """
    return _store(locked_with_linked(vehicles), on)


def _store(cars: Sequence[Vehicle], on: datetime.date) -> int:
    answers = Answers(cars, on=on)
    _store_emptied(answers)
    items = answers.items()
    stored = {
        (item.vehicle_id, item.key): item for item in DueItem.objects.filter(vehicle__in=cars)
    }
    changed = []
    for item in items:
        old = stored.pop((item.vehicle_id, item.key), None)
        if old is None:
            changed.append(item)
            continue
        item.id = old.id
        if item.no_record and old.no_record_since is not None:
            item.no_record_since = old.no_record_since
        if any(getattr(old, name) != getattr(item, name) for name in _FIELDS):
            item.revision = old.revision + 1
            changed.append(item)
    DueItem.objects.filter(id__in=[item.id for item in stored.values()]).delete()
    DueItem.objects.bulk_create(
        changed,
        batch_size=1000,
        update_conflicts=True,
        unique_fields=["vehicle", "key"],
        update_fields=[
            field.name
            for field in DueItem._meta.concrete_fields
            if field.name not in {"id", "collection", "vehicle", "key"}
        ],
    )
    # The instant stamps the calendar's revision; no answer depends on it.
    shown = (Shown(item, item.cycle) for item in items)
    refresh(vehicles=cars, items=shown, at=this_instant())
    return len(changed) + len(stored)


def _store_emptied(answers: Answers) -> None:
    """Store since when places carry nothing, where that has changed."""
    changed = []
    for component, day in answers.emptied().items():
        if component.empty_since != day:
            component.empty_since = day
            changed.append(component)
    if changed:
        Component.objects.bulk_update(changed, ["empty_since"], batch_size=500)


@twice_if_need_be
@transaction.atomic
def _recompute_chunk(cars: Sequence[Vehicle], on: datetime.date) -> int:
    """Compute some cars alone: those that they exchanged parts with have their own turn."""
    return _store(all_locked(cars), on)


def recompute_collection(
    *,
    collection: Collection,
    on: datetime.date,
    progress: Callable[[int], None] = lambda cars: None,
) -> int:
    """Recompute all cars of a collection in chunks; return how many items changed.

    Each chunk is a transaction of its own, so that an interrupted run keeps what it has done and
    a second run writes nothing twice. `progress` is told how many cars each chunk had.
    """
    changed = 0
    cars = Vehicle.objects.filter(collection=collection).order_by("id").iterator(CHUNK)
    while chunk := list(itertools.islice(cars, CHUNK)):
        changed += _recompute_chunk(chunk, on)
        progress(len(chunk))
    return changed
