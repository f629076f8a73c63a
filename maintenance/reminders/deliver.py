"""Send what is ready on one channel."""

import datetime
import time
import uuid
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import structlog
from django.conf import settings
from django.db import InterfaceError, OperationalError, connection

from maintenance.models import Collection, Message, Reminder
from maintenance.reminders import outbox
from maintenance.reminders.channels.contract import Channel, Clock, NotDeliverable, TryLater
from maintenance.reminders.channels.registry import CHANNELS
from maintenance.reminders.lines import Line, line_for
from maintenance.reminders.recipients import Audience, audience
from maintenance.reminders.timing import quiet_until
from maintenance.reminders.validity import due_items_of, why_dropped

BATCH: Final = 20
"""Messages claimed at a time; what is read for a batch must still be true for its last one."""

STALE_AFTER: Final = datetime.timedelta(seconds=30)
"""After so long the rest of a batch is put back, to be read anew."""

_BETWEEN_WRITES: Final = 0.5
"""Wait before an outcome is written again while the database restarts [s]."""

_OF_THE_LEASE: Final = 0.9

_log = structlog.get_logger(__name__)


@dataclass
class Delivered:
    """What a round of sending came to, in messages and in rows of the channel's own."""

    sent: int = 0
    handed_over: int = 0
    failed: int = 0
    dropped: int = 0
    put_back: int = 0

    def add(self, other: "Delivered") -> None:
        self.sent += other.sent
        self.handed_over += other.handed_over
        self.failed += other.failed
        self.dropped += other.dropped
        self.put_back += other.put_back


def deliver(*, channel: str, clock: Clock, budget: datetime.timedelta | None = None) -> Delivered:
    """Send what is ready on a channel, batch by batch, until nothing is or `budget` is used up.

    Any number of workers may do so at the same time. A batch of which nothing could be sent ends
    the round: the other side is down, and the rest of the outbox would only be kept busy by it.
    """
    way, total, begun = CHANNELS[channel], Delivered(), clock()
    if way.waits_for():
        return total
    while messages := outbox.claim(channel=channel, due_by=begun, at=clock(), limit=BATCH):
        done = _Batch(way, messages, clock).send()
        total.add(done)
        used_up = budget is not None and clock() - begun >= budget
        if used_up or (done.failed and not done.sent + done.handed_over):
            break
    own = way.work_off(clock=clock)
    total.add(Delivered(sent=own.sent, failed=own.failed, dropped=own.dropped))
    return total


class _Batch:
    """Messages taken by one worker, and what it read for them at once."""

    def __init__(self, way: Channel, messages: Sequence[Message], clock: Clock) -> None:
        self.way, self.messages, self.clock = way, messages, clock
        self.done = Delivered()
        self.read_at = clock()
        collections = {message.collection_id: message.collection for message in messages}
        self.days = {key: self._day(each) for key, each in collections.items()}
        self.told_whom = {key: audience(each) for key, each in collections.items()}
        self.lines, self.stale = self._read()

    def send(self) -> Delivered:
        """Send one message after the other over one connection; settle every one of them."""
        waiting = [message for message in self.messages if self._has_its_time(message)]
        try:
            if waiting:
                with self.way.connection() as opened:
                    while waiting:
                        self._send(opened, waiting[0])
                        waiting.pop(0)
        except TryLater as wrong:
            # Only opening the connection raises this far.
            for message in waiting:
                self._failed(message, wrong)
        return self.done

    def _has_its_time(self, message: Message) -> bool:
        """Say whether a message goes out now; drop an empty one, put back one in quiet hours."""
        outbox.drop_lines(self.stale.get(message.pk, []))
        if not self.lines.get(message.pk):
            outbox.drop_empty(message)
            self.done.dropped += 1
            return False
        if not self.way.for_people:
            return True
        preference = self.told_whom[message.collection_id].preferences[message.member_id]
        until = quiet_until(preference, self.read_at)
        if until is None:
            return True
        outbox.put_back(message, until=until)
        self.done.put_back += 1
        return False

    def _send(self, opened: Any, message: Message) -> None:
        now = self.clock()
        if now - self.read_at >= STALE_AFTER:
            outbox.put_back(message, until=now)
            self.done.put_back += 1
            return
        if not outbox.hand_over(message, at=now):
            return
        lines = self.lines[message.pk]
        try:
            self.way.send(opened, message, lines)
        except (TryLater, NotDeliverable) as wrong:
            self._failed(message, wrong)
        except Exception as wrong:
            # One message that can't be written must not keep the others from going out.
            _log.exception("message_broke", message=str(message.pk), channel=message.channel)
            self._failed(message, TryLater(type(wrong).__name__, unknown=True))
        else:
            self._sent(message, lines, now)

    def _sent(self, message: Message, lines: Sequence[Line], begun: datetime.datetime) -> None:
        now, reminders = self.clock(), [line.reminder.pk for line in lines]
        if self.way.settles_itself:
            _surely(lambda: outbox.settle_handed_over(message))
            self.done.handed_over += 1
        else:
            _surely(lambda: outbox.settle_sent(message, reminders=reminders, at=now))
            self.done.sent += 1
        _log.info(
            "message_handed_over" if self.way.settles_itself else "message_sent",
            message=str(message.pk),
            channel=message.channel,
            lines=len(lines),
            waited_s=round((now - message.not_before).total_seconds(), 3),
            took_s=round((now - begun).total_seconds(), 3),
        )

    def _failed(self, message: Message, wrong: TryLater | NotDeliverable) -> None:
        later, now = wrong if isinstance(wrong, TryLater) else None, self.clock()
        _surely(
            lambda: outbox.settle_failed(
                message,
                at=now,
                error=str(wrong),
                final=later is None,
                unknown=later is not None and later.unknown,
                after=later.after if later else None,
            )
        )
        self.done.failed += 1
        _log.warning(
            "message_failed",
            message=str(message.pk),
            channel=message.channel,
            failures=message.failures + 1,
            final=later is None,
            error=str(wrong),
        )

    def _day(self, collection: Collection) -> datetime.date:
        return self.read_at.astimezone(collection.zone).date()

    def _read(self) -> tuple[dict[uuid.UUID, list[Line]], dict[uuid.UUID, list[Reminder]]]:
        """Return, by message, the lines to send and the reminders no longer true."""
        reminders = Reminder.objects.filter(
            message__in=self.messages, state=Reminder.State.WAITING
        ).select_related("vehicle")
        by_collection: dict[uuid.UUID, list[Reminder]] = defaultdict(list)
        for reminder in reminders:
            by_collection[reminder.collection_id].append(reminder)
        lines: dict[uuid.UUID, list[Line]] = defaultdict(list)
        stale: dict[uuid.UUID, list[Reminder]] = defaultdict(list)
        for key, some in by_collection.items():
            self._sort(some, self.told_whom[key], self.days[key], lines, stale)
        return lines, stale

    def _sort(
        self,
        reminders: Sequence[Reminder],
        told_whom: Audience,
        on: datetime.date,
        lines: dict[uuid.UUID, list[Line]],
        stale: dict[uuid.UUID, list[Reminder]],
    ) -> None:
        items = {item.pk: item for item in due_items_of(reminders, on)}
        order = {key: place for place, key in enumerate(items)}
        for reminder in sorted(reminders, key=lambda each: order.get(_item_of(each), -1)):
            item = items.get(_item_of(reminder))
            reminder.reason = why_dropped(reminder, item, told_whom, on=on)
            where: Any = reminder.message_id
            if item is None or reminder.reason:
                stale[where].append(reminder)
            else:
                lines[where].append(line_for(reminder, item, on=on))


def _item_of(reminder: Reminder) -> Any:
    return reminder.due_item_id


def _surely(settle: Callable[[], object]) -> None:
    """Write down what came of a message, also if the database restarts just then.

    Otherwise a message that went out would be taken for one that did not, and sent again. Tried
    for nearly the lease of a message: nobody else takes it before that.
    """
    tries = settings.REMINDER_LEASE.total_seconds() * _OF_THE_LEASE / _BETWEEN_WRITES
    for _try in range(int(tries)):
        try:
            settle()
            return
        except (InterfaceError, OperationalError):
            _log.warning("database_away")
            connection.close()
            time.sleep(_BETWEEN_WRITES)
    settle()
