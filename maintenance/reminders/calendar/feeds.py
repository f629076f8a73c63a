"""A calendar feed as it is served: the entries its member may see, joined."""

import datetime
import hashlib
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from maintenance.models import CalendarEntry, CalendarFeed
from maintenance.queries.access import sight_of_member
from maintenance.queries.second_lock import everything_in_sight
from maintenance.reminders.calendar.components import alarms, calendar, filler, last_line
from maintenance.reminders.calendar.entries import KEPT


@dataclass(frozen=True)
class Served:
    """A calendar, its digest, and since when it has been just so."""

    content: bytes
    digest: str
    since: datetime.datetime


@everything_in_sight()
def feed_of(secret: str) -> CalendarFeed | None:
    """Return the feed at a secret address, with its member and their account; one query.

    None where the secret is unknown or was revoked, and where the account is closed.
    """
    digest = digest_of(secret)
    feeds = CalendarFeed.objects.select_related("member__account")
    return feeds.filter(digest=digest, member__account__is_active=True).first()


def digest_of(secret: str) -> str:
    """Return what is kept of a secret."""
    # The secret has 256 random bits: a slow hash, as for passwords, would add nothing.
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def serve(feed: CalendarFeed, *, form: str, at: datetime.datetime) -> Served:
    """Return a feed as events or to-dos: one query, and a second where it has changed."""
    text = "todo" if form == CalendarFeed.Form.TODOS else "event"
    entries = _entries(feed, at).exclude(**{text: ""})
    before, after = calendar(name=feed.name, uid=feed.uid)
    pieces, end = alarms(feed.lead_times, form), last_line(form)
    parts = [
        entry + (line.join(pieces) if line else "") + end
        for entry, line in entries.values_list(text, "alarm")
    ]
    content = "".join((before, *(parts or [filler()]), after)).encode()
    digest = hashlib.sha256(content).hexdigest()
    return Served(content, digest, _since(feed, form, digest, at))


def _entries(feed: CalendarFeed, at: datetime.datetime) -> QuerySet[CalendarEntry]:
    """Return the entries to show, narrowed to what the member may see at this moment."""
    member = feed.member
    entries = CalendarEntry.objects.filter(
        Q(cancelled_at__isnull=True) | Q(cancelled_at__gte=at - KEPT),
        collection=feed.collection_id,
        criticality__in=feed.criticalities,
    )
    if feed.scope == CalendarFeed.Scope.MEMBER:
        entries = entries.filter(vehicle__keeper=member)
    elif feed.scope == CalendarFeed.Scope.VEHICLE:
        entries = entries.filter(vehicle=feed.vehicle_id)
    return sight_of_member(member).rows("due-items", entries).order_by("id")


def _since(feed: CalendarFeed, form: str, digest: str, at: datetime.datetime) -> datetime.datetime:
    """Return since when the content is as it is, and note it where it has changed.

    Entries know when they changed, but what a feed shows also changes with its settings, its
    member's rights and the passing of ninety days; only the content itself tells of all of these.
    """
    last = feed.shown.get(form)
    if last and last["digest"] == digest:
        return datetime.datetime.fromisoformat(last["since"])
    since = at.replace(microsecond=0)
    if last:
        # Last-Modified counts whole seconds: two contents must not share one.
        earlier = datetime.datetime.fromisoformat(last["since"])
        since = max(since, earlier + datetime.timedelta(seconds=1))
    shown = feed.shown | {form: {"digest": digest, "since": since.isoformat()}}
    CalendarFeed.objects.filter(pk=feed.pk).update(shown=shown)
    return since
