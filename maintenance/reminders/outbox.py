"""The outbox: claim messages, hand them over, settle what became of them.

One code path for both databases. On PostgreSQL `SKIP LOCKED` lets workers pass each other; on
SQLite, where Django leaves that clause out, a write transaction is alone by itself. In both the
conditional update decides, and its count is the answer.
"""

import datetime
import uuid
from collections.abc import Iterable, Sequence

from django.conf import settings
from django.db import transaction
from django.db.models import Case, F, Q, QuerySet, Value, When

from maintenance.models import Message, Reminder
from maintenance.models.base import new_id
from maintenance.reminders import back_off


def ready(channel: str, at: datetime.datetime) -> QuerySet[Message]:
    """Return the messages that a worker may take at an instant, those left by a dead one too."""
    return Message.objects.filter(channel=channel, state__in=Message.OPEN, next_at__lte=at)


@transaction.atomic
def claim(
    *, channel: str, due_by: datetime.datetime, at: datetime.datetime, limit: int
) -> list[Message]:
    """Take up to `limit` messages, the longest waiting first; nobody else gets them meanwhile.

    `due_by` is where the round of the caller began: what failed in it is not taken again by it.
    """
    locked = ready(channel, due_by).select_for_update(skip_locked=True)
    taken = list(locked.order_by("next_at", "id").values_list("id", flat=True)[:limit])
    if not taken:
        return []
    mark = new_id()
    ready(channel, due_by).filter(id__in=taken).update(
        state=Message.State.CLAIMED,
        claim=mark,
        next_at=at + settings.REMINDER_LEASE,
        # Handed over by a worker that never said what came of it.
        unknown_outcomes=F("unknown_outcomes") + _one_if(handed_at__isnull=False),
        handed_at=None,
    )
    return list(
        Message.objects.filter(claim=mark, state=Message.State.CLAIMED)
        .select_related("collection", "member__account")
        .order_by("not_before", "id")
    )


def hand_over(message: Message, *, at: datetime.datetime) -> bool:
    """Note that the message is about to go out; False if another worker has it by now.

    Committed before the channel is asked: a worker that dies later leaves a trace of the attempt.
    """
    message.handed_at = at
    message.first_tried_at = message.first_tried_at or at
    held = _held(message).filter(next_at__gt=at)
    return bool(
        held.update(
            handed_at=at,
            attempts=F("attempts") + 1,
            first_tried_at=message.first_tried_at,
            next_at=at + settings.REMINDER_LEASE,
        )
    )


@transaction.atomic
def settle_sent(message: Message, *, reminders: Iterable[uuid.UUID], at: datetime.datetime) -> bool:
    """Note that a message went out with these reminders; False if it is no longer held."""
    if not _close(message, state=Message.State.SENT, sent_at=at, last_error=""):
        return False
    Reminder.objects.filter(id__in=list(reminders)).update(state=Reminder.State.SENT, reason="")
    return True


def settle_handed_over(message: Message) -> None:
    """Note that a channel has taken a message into rows of its own, which will settle it.

    Not where they have done so already: then the message is no longer held.
    """
    _close(message, state=Message.State.HANDED_OVER, last_error="")


@transaction.atomic
def settle_failed(
    message: Message,
    *,
    at: datetime.datetime,
    error: str,
    final: bool = False,
    unknown: bool = False,
    after: datetime.timedelta | None = None,
) -> None:
    """Note a failure: try again later, or give up for good so that an officer sees it."""
    failures = message.failures + 1
    first = message.first_tried_at or at
    if final or back_off.given_up(first, at):
        done = _close(
            message,
            state=Message.State.UNDELIVERED,
            failures=failures,
            failures_in_all=F("failures_in_all") + 1,
            last_error=error,
            first_tried_at=first,
        )
        if done:
            _lines(message).update(state=Reminder.State.UNDELIVERED)
        return
    _held(message).update(
        state=Message.State.WAITING,
        claim=None,
        handed_at=None,
        failures=failures,
        failures_in_all=F("failures_in_all") + 1,
        unknown_outcomes=F("unknown_outcomes") + int(unknown),
        first_tried_at=first,
        last_error=error,
        next_at=at + max(back_off.wait(failures), after or datetime.timedelta()),
    )


def put_back(message: Message, *, until: datetime.datetime) -> None:
    """Give a claimed message back untried, to be taken again from an instant on."""
    _held(message).update(state=Message.State.WAITING, claim=None, next_at=until)


def drop_lines(reminders: Sequence[Reminder]) -> None:
    """Drop reminders that are still to be sent, each with its `reason`; one query a reason."""
    by_reason: dict[str, list[uuid.UUID]] = {}
    for reminder in reminders:
        by_reason.setdefault(reminder.reason, []).append(reminder.id)
    for reason, ids in by_reason.items():
        Message.objects.filter(state=Message.State.HANDED_OVER, reminders__in=ids).update(
            state=Message.State.DROPPED
        )
        Reminder.objects.filter(id__in=ids, state=Reminder.State.WAITING).update(
            state=Reminder.State.DROPPED, reason=reason
        )


def drop_empty(message: Message) -> None:
    """Close a claimed message in which nothing is left to say."""
    _close(message, state=Message.State.DROPPED)


@transaction.atomic
def resend(message: Message, *, at: datetime.datetime) -> bool:
    """Put an undelivered message back at the head of the outbox; False if it is not undelivered."""
    anew = Message.objects.filter(pk=message.pk, state=Message.State.UNDELIVERED).update(
        state=Message.State.WAITING, next_at=at, failures=0, first_tried_at=None
    )
    if anew != 1:
        return False
    Reminder.objects.filter(message=message, state=Reminder.State.UNDELIVERED).update(
        state=Reminder.State.WAITING
    )
    return True


def _held(message: Message) -> QuerySet[Message]:
    return Message.objects.filter(pk=message.pk, claim=message.claim, state=Message.State.CLAIMED)


def _close(message: Message, **values: object) -> int:
    return _held(message).update(claim=None, handed_at=None, **values)


def _lines(message: Message) -> QuerySet[Reminder]:
    return Reminder.objects.filter(message=message, state=Reminder.State.WAITING)


def _one_if(**condition: object) -> Case:
    return Case(When(Q(**condition), then=Value(1)), default=Value(0))
