"""Compare the due list of a collection with what its members were told, and mend the difference."""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from django.db import transaction
from django.db.models import Q

from maintenance.models import Collection, DueItem, Reminder, Vehicle
from maintenance.queries.due_items import due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.reminders import outbox
from maintenance.reminders.gather import put_into_messages
from maintenance.reminders.recipients import Audience, audience
from maintenance.reminders.timing import MOVED_DAYS, day_to_tell_of, lead_reached
from maintenance.reminders.validity import due_items_of, why_dropped

_BATCH = 1000
_WORDS = ("criteria", "sentence", "caution", "source")
"""Needed to tell of an item, not to find it."""


class Key(NamedTuple):
    """What makes two reminders the same one."""

    vehicle: uuid.UUID
    item_key: str
    due_on: datetime.date | None
    lead_days: int
    member: uuid.UUID
    channel: str


@dataclass
class Found:
    """What a comparison came to: reminders made, taken up again, and dropped."""

    made: int = 0
    taken_up: int = 0
    dropped: int = 0


@dataclass
class _Told:
    """The reminders there are: by what makes them the same, and by what a moved day leaves."""

    by_key: dict[Key, Reminder] = field(default_factory=dict)
    days: dict[tuple[object, ...], list[datetime.date]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def add(self, reminder: Reminder) -> None:
        key = key_of(reminder)
        self.by_key[key] = reminder
        out = reminder.state in (Reminder.State.SENT, Reminder.State.UNDELIVERED)
        if out and reminder.due_on is not None:
            self.days[_but_for_its_day(key)].append(reminder.due_on)

    def hardly_moved(self, key: Key) -> bool:
        """Say whether the same lead time was told for a day close by."""
        return key.due_on is not None and any(
            abs((told - key.due_on).days) < MOVED_DAYS
            for told in self.days.get(_but_for_its_day(key), ())
        )


@transaction.atomic
def find_reminders(*, collection: Collection, on: datetime.date, at: datetime.datetime) -> Found:
    """Write into the outbox what members are to be told by a day, and drop what is no longer true.

    One transaction under a lock of the collection; a second run beside this one leaves the work
    to it. Run as often as one likes: what was told is not told again.
    """
    free = Collection.objects.select_for_update(no_key=True, skip_locked=True)
    if free.filter(pk=collection.pk).first() is None:
        return Found()
    told_whom = audience(collection)
    items = with_put_offs(_candidates(collection, on, told_whom), on=on)
    wanted = dict(_wanted(items, told_whom, on))
    told = _told(collection, items)
    found = Found()
    found.dropped = _drop(told, wanted, told_whom, on)
    fresh, again = _missing(told, wanted, at)
    put_into_messages(fresh + again, told_whom.preferences, at=at)
    Reminder.objects.bulk_create(fresh, batch_size=_BATCH)
    Reminder.objects.bulk_update(again, ["state", "reason", "message"], batch_size=_BATCH)
    found.made, found.taken_up = len(fresh), len(again)
    return found


def key_of(reminder: Reminder) -> Key:
    return Key(
        reminder.vehicle_id,
        reminder.item_key,
        reminder.due_on,
        reminder.lead_days,
        reminder.member_id,
        reminder.channel,
    )


def _but_for_its_day(key: Key) -> tuple[object, ...]:
    return tuple(key._replace(due_on=None))


def _candidates(
    collection: Collection, on: datetime.date, told_whom: Audience
) -> Iterator[DueItem]:
    """Return the items whose day may be within the longest lead time; uses `due_item_by_day`."""
    leads = (max(each.lead_days, default=0) for each in told_whom.preferences.values())
    last = on + datetime.timedelta(max(leads, default=0))
    near = (
        Q(due_on__lte=last)
        | Q(no_record=True)
        | Q(due_on__isnull=True, falling_due_from__lte=last)
        | Q(due_on__isnull=True, overdue_from__lte=last)
        | Q(laid_up_until__lte=last)
        | Q(expected_to__lte=last)
    )
    cars = Vehicle.objects.filter(collection=collection)
    items = due_list(cars, on=on).filter(near, collection=collection)
    return items.select_related("vehicle").defer(*_WORDS).iterator(_BATCH)


def _wanted(
    items: Iterable[DueItem], told_whom: Audience, on: datetime.date
) -> Iterator[tuple[Key, DueItem]]:
    for item in items:
        day = day_to_tell_of(item, on=on)
        for preference in told_whom.told_of(item.vehicle_id):
            lead = lead_reached(item, day, on=on, preference=preference)
            if lead is None:
                continue
            for channel in preference.channels:
                key = Key(item.vehicle_id, item.key, day, lead, preference.member_id, channel)
                yield key, item


def _told(collection: Collection, items: list[DueItem]) -> _Told:
    told = _Told()
    waiting = Reminder.objects.filter(collection=collection, state=Reminder.State.WAITING)
    for reminder in waiting.iterator(_BATCH):
        told.add(reminder)
    settled = Reminder.objects.exclude(state=Reminder.State.WAITING)
    for start in range(0, len(items), _BATCH):
        part = [item.pk for item in items[start : start + _BATCH]]
        for reminder in settled.filter(due_item__in=part).iterator(_BATCH):
            told.add(reminder)
    return told


def _drop(told: _Told, wanted: dict[Key, DueItem], told_whom: Audience, on: datetime.date) -> int:
    stale = [
        reminder
        for key, reminder in told.by_key.items()
        if reminder.state == Reminder.State.WAITING and key not in wanted
    ]
    now = {item.pk: item for item in due_items_of(stale, on)}
    dropped = []
    for reminder in stale:
        item = now.get(reminder.due_item_id) if reminder.due_item_id else None
        reminder.reason = why_dropped(reminder, item, told_whom, on=on)
        if reminder.reason:
            dropped.append(reminder)
    outbox.drop_lines(dropped)
    return len(dropped)


def _missing(
    told: _Told, wanted: dict[Key, DueItem], at: datetime.datetime
) -> tuple[list[Reminder], list[Reminder]]:
    """Return the reminders to be made, and those dropped before that are wanted again."""
    fresh, again = [], []
    for key, item in wanted.items():
        old = told.by_key.get(key)
        if old is not None:
            if old.state == Reminder.State.DROPPED:
                old.state, old.reason, old.due_item = Reminder.State.WAITING, "", item
                again.append(old)
        elif not told.hardly_moved(key):
            fresh.append(_reminder(key, item, at))
    return fresh, again


def _reminder(key: Key, item: DueItem, at: datetime.datetime) -> Reminder:
    return Reminder(
        collection_id=item.collection_id,
        vehicle_id=key.vehicle,
        item_key=key.item_key,
        due_item=item,
        due_on=key.due_on,
        lead_days=key.lead_days,
        member_id=key.member,
        channel=key.channel,
        found_at=at,
    )
