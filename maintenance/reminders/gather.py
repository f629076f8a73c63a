"""Put reminders into messages: each by itself, or into the digest a member gets next."""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping

from maintenance.models import Message, Reminder, ReminderPreference
from maintenance.reminders.channels.registry import CHANNELS
from maintenance.reminders.timing import goes_out_at

_BATCH = 1000

_Slot = tuple[uuid.UUID, uuid.UUID, str, datetime.datetime]


def put_into_messages(
    reminders: Iterable[Reminder],
    preferences: Mapping[uuid.UUID, ReminderPreference],
    *,
    at: datetime.datetime,
) -> None:
    """Give each reminder its message; the caller saves the reminders, in its transaction.

    The caller holds the lock of the collection, so no two runs gather the same reminder.
    """
    alone: list[Message] = []
    digests: dict[_Slot, list[Reminder]] = defaultdict(list)
    for reminder in reminders:
        preference = preferences[reminder.member_id]
        goes_out = _goes_out(reminder, preference, at)
        if _for_people(reminder) and preference.digest != ReminderPreference.Digest.NONE:
            slot = (reminder.collection_id, reminder.member_id, reminder.channel, goes_out)
            digests[slot].append(reminder)
        else:
            reminder.message = _message(reminder, goes_out)
            alone.append(reminder.message)
    Message.objects.bulk_create(alone, batch_size=_BATCH)
    for slot, lines in digests.items():
        message = _digest(slot)
        for reminder in lines:
            reminder.message = message


def _for_people(reminder: Reminder) -> bool:
    channel = CHANNELS.get(reminder.channel)
    return channel is None or channel.for_people


def _goes_out(
    reminder: Reminder, preference: ReminderPreference, at: datetime.datetime
) -> datetime.datetime:
    if reminder.due_item is None or not _for_people(reminder):
        return at
    return goes_out_at(preference, reminder.due_item, reminder.due_on, at)


def _message(reminder: Reminder, goes_out: datetime.datetime) -> Message:
    return Message(
        collection_id=reminder.collection_id,
        member_id=reminder.member_id,
        channel=reminder.channel,
        not_before=goes_out,
        next_at=goes_out,
    )


def _digest(slot: _Slot) -> Message:
    """Return the digest of a slot, locked, so that no worker takes it while lines are added."""
    collection, member, channel, goes_out = slot
    message, made = Message.objects.select_for_update().get_or_create(
        member_id=member,
        channel=channel,
        not_before=goes_out,
        digest=True,
        defaults={"collection_id": collection, "next_at": goes_out},
    )
    if not made:
        # Emptied and closed before, and now there is something to say again.
        Message.objects.filter(pk=message.pk, state=Message.State.DROPPED).update(
            state=Message.State.WAITING, next_at=goes_out
        )
    return message
