"""Deliver what is queued for webhooks: each message until it is taken, with a log of every try."""

import datetime
import email.utils
import json
import uuid
from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple

import structlog
from django.conf import settings
from django.db import transaction
from django.db.models import Q, QuerySet

from maintenance.models import Reminder, Webhook, WebhookAttempt, WebhookDelivery, WebhookSecret
from maintenance.reminders import back_off
from maintenance.reminders.channels.contract import Clock
from maintenance.reminders.channels.webhook_guard import NotAllowed
from maintenance.reminders.channels.webhook_reminders import State, settle, why_dropped
from maintenance.reminders.channels.webhook_request import TIME_LIMIT, Answered, Failed, post
from maintenance.reminders.channels.webhook_signature import signed_headers

DISABLED_AFTER: Final = datetime.timedelta(days=3)
"""A webhook that takes nothing for so long is no longer tried (common practice)."""
LONGEST_WAIT: Final = datetime.timedelta(days=1)
"""However long the other side asks to be left alone."""
LONGEST_ROUND: Final = datetime.timedelta(minutes=2)
"""So that a worker is done with a round before its time limit."""
LEASE: Final = datetime.timedelta(seconds=6 * TIME_LIMIT)
"""Longer than a try can take: a message left by a dead worker is sent again after that."""

_GONE: Final = 410
_log = structlog.get_logger(__name__)
_Post = Callable[..., Answered]


class _Outcome(NamedTuple):
    """What came of a try; `error` is empty where the message was taken."""

    status: int | None
    error: str
    retry_after: str = ""


class Round(NamedTuple):
    """What a round of deliveries came to."""

    taken: int
    failed: int
    dropped: int


def queue(
    webhook: Webhook,
    *,
    event: str,
    key: str,
    data: Mapping[str, Any],
    at: datetime.datetime,
    reminder: Reminder | None = None,
) -> WebhookDelivery:
    """Queue a message for a webhook, once for each `key`; return its row, new or old."""
    body = {"type": event, "timestamp": at.isoformat(), "data": data}
    row, _ = WebhookDelivery.objects.get_or_create(
        webhook=webhook,
        key=key,
        defaults={
            "collection_id": webhook.collection_id,
            "reminder": reminder,
            "event": event,
            "body": json.dumps(body, ensure_ascii=False, separators=(",", ":")),
            "queued_at": at,
            "next_attempt_at": at,
        },
    )
    return row


def queue_reminder(
    webhook: Webhook,
    reminder: Reminder,
    *,
    event: str,
    data: Mapping[str, Any],
    at: datetime.datetime,
) -> None:
    """Queue a reminder for a webhook once; one that was given up or dropped is tried anew."""
    key = f"reminder:{reminder.pk}"
    row = queue(webhook, event=event, key=key, data=data, at=at, reminder=reminder)
    if row.state in (State.GIVEN_UP, State.DROPPED):
        try_anew(row, at=at)


def try_anew(delivery: WebhookDelivery, *, at: datetime.datetime) -> bool:
    """Put a message back in the queue as it was, its identifier too; False if it waits there."""
    ended = WebhookDelivery.objects.filter(pk=delivery.pk).exclude(state=State.WAITING)
    put_back = ended.update(
        state=State.WAITING, next_attempt_at=at, first_tried_at=None, finished_at=None, reason=""
    )
    return put_back == 1


def deliver_queued(*, clock: Clock, send: _Post = post) -> Round:
    """Send what is queued, whose time has come and what is still true.

    Any number of workers may do so at once. After its first failure a webhook is left alone for
    this round, so that one that never answers can't keep the others waiting. A round that has
    lasted `LONGEST_ROUND` begins no further try; what is left is for the next one.
    """
    began = clock()
    waiting = _ready(began).order_by("webhook", "next_attempt_at", "id")
    count, failing = Counter[str](), None
    for pk, webhook in list(waiting.values_list("id", "webhook_id")):
        if clock() - began >= LONGEST_ROUND:
            break
        if webhook == failing or (delivery := _claimed(pk, clock())) is None:
            continue
        if reason := why_dropped(delivery, clock()):
            _drop(delivery, reason, clock())
            count["dropped"] += 1
        elif _deliver(delivery, clock, send):
            count["taken"] += 1
        else:
            failing = webhook
            count["failed"] += 1
    return Round(count["taken"], count["failed"], count["dropped"])


def live_secrets(webhook: Webhook, at: datetime.datetime) -> QuerySet[WebhookSecret]:
    """Return the secrets that sign at an instant, the newest first."""
    live = Q(expires_at__isnull=True) | Q(expires_at__gt=at)
    return WebhookSecret.objects.filter(live, webhook=webhook).order_by("-issued_at", "-id")


def _ready(at: datetime.datetime) -> QuerySet[WebhookDelivery]:
    return WebhookDelivery.objects.filter(
        state=State.WAITING,
        next_attempt_at__lte=at,
        webhook__disabled_at__isnull=True,
    )


def _claimed(pk: uuid.UUID, at: datetime.datetime) -> WebhookDelivery | None:
    """Take a message by pushing its next try forward; None where another worker was faster."""
    delivery = _ready(at).select_related("webhook").filter(pk=pk).first()
    if delivery is None:
        return None
    seen = {"next_attempt_at": delivery.next_attempt_at, "attempt_count": delivery.attempt_count}
    delivery.attempt_count += 1
    delivery.first_tried_at = delivery.first_tried_at or at
    delivery.next_attempt_at = at + LEASE
    now = {name: getattr(delivery, name) for name in (*seen, "first_tried_at")}
    # Columns of its own row alone: with the join of `_ready` the condition would become a subquery,
    # which PostgreSQL does not look at again after waiting for another worker's update.
    unclaimed = WebhookDelivery.objects.filter(pk=pk, state=State.WAITING, **seen)
    return delivery if unclaimed.update(**now) == 1 else None


@transaction.atomic
def _drop(delivery: WebhookDelivery, reason: str, at: datetime.datetime) -> None:
    _held(delivery).update(state=State.DROPPED, finished_at=at, reason=reason)
    settle(delivery.reminder_id)


def _deliver(delivery: WebhookDelivery, clock: Clock, send: _Post) -> bool:
    began = clock()
    outcome = _try(delivery, began, send)
    ended = clock()
    with transaction.atomic():
        WebhookAttempt.objects.create(
            delivery=delivery,
            at=began,
            duration_ms=max(0, round((ended - began).total_seconds() * 1000)),
            status=outcome.status,
            error=outcome.error,
        )
        _settle(delivery, outcome, ended)
    return not outcome.error


def _try(delivery: WebhookDelivery, at: datetime.datetime, send: _Post) -> _Outcome:
    body = delivery.body.encode()
    secrets = live_secrets(delivery.webhook, at).values_list("text", flat=True)
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "idle-years",
        **signed_headers(message_id=delivery.message_id, at=at, body=body, secret_texts=secrets),
    }
    try:
        answered = send(
            delivery.webhook.url,
            body=body,
            headers=headers,
            allowed_hosts=settings.WEBHOOK_ALLOWED_HOSTS,
        )
    except (NotAllowed, Failed) as refused:
        return _Outcome(None, str(refused)[:300])
    except Exception as wrong:
        # One receiver that brings out a fault of ours must not keep the others from being told.
        _log.exception("webhook_delivery_broke", delivery=str(delivery.pk))
        return _Outcome(None, f"is not sent: {type(wrong).__name__}")
    error = "" if 200 <= answered.status < 300 else f"answers {answered.status}"
    return _Outcome(answered.status, error, answered.retry_after)


def _settle(delivery: WebhookDelivery, outcome: _Outcome, at: datetime.datetime) -> None:
    """Note what came of a try, unless the lease ran out and another worker has it by now."""
    values: dict[str, Any] = {"last_status": outcome.status, "last_error": outcome.error}
    if not outcome.error:
        values |= {"state": State.TAKEN, "finished_at": at}
    elif back_off.given_up(delivery.first_tried_at or at, at):
        values |= {"state": State.GIVEN_UP, "finished_at": at}
    else:
        asked = _asked_to_wait(outcome.retry_after, at)
        values["next_attempt_at"] = at + max(back_off.wait(delivery.attempt_count), asked)
    _held(delivery).update(**values)
    if "state" in values:
        settle(delivery.reminder_id)
    _note_health(delivery.webhook, outcome, at)


def _held(delivery: WebhookDelivery) -> QuerySet[WebhookDelivery]:
    return WebhookDelivery.objects.filter(
        pk=delivery.pk, state=State.WAITING, attempt_count=delivery.attempt_count
    )


def _note_health(webhook: Webhook, outcome: _Outcome, at: datetime.datetime) -> None:
    """Keep since when a webhook fails, and disable one that fails for too long or is gone."""
    row = Webhook.objects.filter(pk=webhook.pk)
    if not outcome.error:
        row.filter(failing_since__isnull=False).update(failing_since=None)
        return
    row.filter(failing_since__isnull=True).update(failing_since=at)
    if outcome.status == _GONE:
        row.filter(disabled_at__isnull=True).update(
            disabled_at=at, disabled_because="it answered 410, that it is gone for good"
        )
    row.filter(disabled_at__isnull=True, failing_since__lte=at - DISABLED_AFTER).update(
        disabled_at=at,
        disabled_because=f"it took nothing for {DISABLED_AFTER.days} days; it {outcome.error}"[
            :300
        ],
    )


def _asked_to_wait(retry_after: str, at: datetime.datetime) -> datetime.timedelta:
    """Return how long the other side asks to wait: seconds or a date (RFC 9110, section 10.2.3)."""
    if retry_after.isascii() and retry_after.isdigit():
        return min(datetime.timedelta(seconds=min(int(retry_after[:9]), 10**8)), LONGEST_WAIT)
    try:
        until = email.utils.parsedate_to_datetime(retry_after)
    except ValueError:
        return datetime.timedelta()
    if until.tzinfo is None:
        until = until.replace(tzinfo=datetime.UTC)
    return max(datetime.timedelta(), min(until - at, LONGEST_WAIT))
