"""How the outbox stands, in numbers for those who watch over the service. No names, no cars."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import Count, F, Min, Q, Sum, Value

from maintenance.models import Collection, DueItem, Message, WebhookAttempt
from maintenance.queries.due_items import status

LATENCY_BOUNDS_S: Final = (10, 60, 300, 900, 3600, 4 * 3600, 24 * 3600)
"""Upper bounds of the counts of send latency [s]."""

WEBHOOK: Final = "webhook"
_UNSETTLED: Final = (*Message.OPEN, Message.State.HANDED_OVER)


@dataclass(frozen=True)
class Latency:
    """How long after its time messages of a channel went out, counted since the first."""

    channel: str
    count: int
    total_s: float
    within: tuple[int, ...]
    """Messages no later than each of `LATENCY_BOUNDS_S`."""


def due_items_by_status(at: datetime.datetime) -> dict[str, int]:
    """Return how many due items have each status, each on the day of its collection."""
    days: dict[datetime.date, list[Collection]] = {}
    for collection in Collection.objects.only("id", "time_zone"):
        days.setdefault(at.astimezone(collection.zone).date(), []).append(collection)
    counted = dict.fromkeys(DueItem.Status.values, 0)
    for day, collections in days.items():
        rows = DueItem.objects.filter(collection__in=collections).annotate(stands=status(day))
        for row in rows.values("stands").annotate(count=Count("id")).order_by():
            counted[row["stands"]] += row["count"]
    return counted


def messages_by_state() -> dict[tuple[str, str], int]:
    """Return how many messages there are by channel and state."""
    rows = Message.objects.values("channel", "state").annotate(count=Count("id")).order_by()
    return {(row["channel"], row["state"]): row["count"] for row in rows}


def oldest_waiting_s(at: datetime.datetime) -> dict[str, float]:
    """Return by channel how long ago the time of the oldest open message came [s]."""
    late = Message.objects.filter(state__in=_UNSETTLED, not_before__lte=at)
    rows = late.values("channel").annotate(oldest=Min("not_before")).order_by()
    return {row["channel"]: (at - row["oldest"]).total_seconds() for row in rows}


def failures() -> dict[str, int]:
    """Return by channel how often sending failed; a webhook's every try counts.

    Sending anew by hand takes nothing back. The counts of a member who leaves go with them.
    """
    rows = Message.objects.values("channel").annotate(count=Sum("failures_in_all")).order_by()
    counted = {row["channel"]: row["count"] for row in rows}
    tries = WebhookAttempt.objects.exclude(error="").count()
    if tries:
        counted[WEBHOOK] = counted.get(WEBHOOK, 0) + tries
    return counted


def latencies() -> Iterable[Latency]:
    """Return by channel how long after their time messages went out; one query."""
    late = F("sent_at") - F("not_before")
    within = {
        f"within_{bound}": Count("id", filter=Q(sent_at__lte=F("not_before") + _seconds(bound)))
        for bound in LATENCY_BOUNDS_S
    }
    sent = Message.objects.filter(state=Message.State.SENT)
    rows = sent.values("channel").annotate(count=Count("id"), total=Sum(late), **within)
    row: Any
    for row in rows.order_by():
        counts = tuple(row[f"within_{bound}"] for bound in LATENCY_BOUNDS_S)
        yield Latency(row["channel"], row["count"], row["total"].total_seconds(), counts)


def _seconds(count: int) -> Value:
    return Value(datetime.timedelta(seconds=count))
