"""The feed of changes: what a client that mirrors a collection has not yet heard of.

A place in the feed is a transaction and a line. On PostgreSQL a line is written long before its
transaction ends, and transactions end in any order; so only lines of transactions are served that
are older than any still under way. None can then appear before a place that was served. On
SQLite writers queue, and lines are in the order in which they end by themselves.
"""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple
from uuid import UUID

from django.conf import settings
from django.db import connection
from django.db.models import F, Q, QuerySet
from django.db.models.fields.tuple_lookups import (
    Tuple,
    TupleGreaterThan,
    TupleLessThan,
    TupleLessThanOrEqual,
)

from maintenance.models import Account, Change, Member, Vehicle
from maintenance.models.changed_nouns import NOUNS
from maintenance.queries.access import Sight
from maintenance.queries.roles import Reach, right_to

_PLACE = Tuple(F("xid"), F("id"))


class Place(NamedTuple):
    """Where in the feed a client is: behind this line of this transaction."""

    xid: int
    id: int


BEGINNING: Final = Place(0, 0)


class NoSuchPlace(Exception):
    """The feed can't go on from a place; the client has to list everything anew."""


class TooOld(NoSuchPlace):
    """Lines behind this place have been removed."""


class Ahead(NoSuchPlace):
    """The database has not come as far as the place, as after a backup was restored."""


class Elsewhere(NoSuchPlace):
    """The place is one of another database."""


@dataclass(frozen=True)
class Page:
    """Some lines, whether there are more, and from where to go on."""

    lines: Sequence[Change]
    more: bool
    place: Place


def kept_for() -> datetime.timedelta:
    """Return how long lines are kept."""
    return datetime.timedelta(days=settings.CHANGES_KEPT_DAYS)


def horizon() -> int:
    """Return the oldest transaction that may still be under way; one query on PostgreSQL."""
    return _number("SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint", 1)


def database() -> int:
    """Return which cluster of databases this is: numbers of transactions hold within one alone."""
    return _number("SELECT system_identifier FROM pg_control_system()", 0)


#: The first transaction that is neither ended nor this one.
_NOT_BEGUN: Final = """
SELECT greatest(pg_snapshot_xmax(pg_current_snapshot())::text::bigint,
    1 + pg_current_xact_id_if_assigned()::text::bigint)
"""


def _number(question: str, on_sqlite: int) -> int:
    if connection.vendor != "postgresql":
        return on_sqlite
    with connection.cursor() as cursor:
        cursor.execute(question)
        return int(cursor.fetchone()[0])


def present_place() -> Place:
    """Return the place behind all that can be served now."""
    last = Change.objects.filter(xid__lt=horizon()).order_by("xid", "id").last()
    return BEGINNING if last is None else Place(last.xid, last.pk)


def changes_after(
    place: Place, *, sight: Sight, account: Account, limit: int, at: datetime.datetime
) -> Page:
    """Return what an account is told after a place, in the order in which it came about.

    Five queries at most, all of them below one horizon, so that they speak of the same lines. An
    empty page leaves the place where it is, until that is half as old as lines become: a client
    of cars on which nothing happens must not find its place removed.

    Raises
    ------
    TooOld, Ahead
        Where the client has to list everything anew.
    """
    below = horizon()
    told = _age_of(place, below, at)
    after = Change.objects.filter(TupleGreaterThan(_PLACE, place), xid__lt=below)
    seen = after.filter(account=None).filter(_in_sight(sight))
    own = after.filter(account=account.pk)
    lines = [*_first(seen, limit + 1), *_first(own, limit + 1)]
    lines.sort(key=lambda line: (line.xid, line.pk))
    page = lines[:limit]
    if page:
        place = Place(page[-1].xid, page[-1].pk)
    elif told < at - kept_for() / 2:
        place = present_place()
    return Page(page, len(lines) > limit, place)


def _first(lines: QuerySet[Change], count: int) -> QuerySet[Change]:
    return lines.order_by("xid", "id")[:count]


def _age_of(place: Place, below: int, at: datetime.datetime) -> datetime.datetime:
    """Return when the line of a place was written; the newest line removed is always kept."""
    if place == BEGINNING:
        first = Change.objects.order_by("xid", "id").first()
        if first is not None and first.at < at - kept_for():
            raise TooOld
        return at
    before = Change.objects.filter(TupleLessThanOrEqual(_PLACE, place))
    last = before.order_by("xid", "id").last()
    newest = Change.objects.order_by("xid", "id").last()
    if newest is None or place.xid >= below or place > (newest.xid, newest.pk):
        raise Ahead
    if last is None:
        raise TooOld
    return last.at


def _in_sight(sight: Sight) -> Q:
    """Narrow lines to rows in sight, by the table of roles as the lists of the nouns do it."""
    alike: defaultdict[tuple[tuple[UUID, ...], tuple[UUID, ...]], list[str]] = defaultdict(list)
    for noun in NOUNS:
        reach = right_to("see", noun.name).reach
        whole = (place for _, place, role in sight.memberships if reach[role] == Reach.ALL)
        own = (member for member, _, role in sight.memberships if reach[role] == Reach.OWN)
        alike[tuple(whole), tuple(own)].append(noun.name)
    found = Q()
    for (collections, members), nouns in alike.items():
        found |= Q(noun__in=nouns) & (Q(collection__in=collections) | _own(members))
    return Q(collection__in=sight.collections) & found


def _own(members: Sequence[UUID]) -> Q:
    if not members:
        return Q(pk=None)
    cars = Vehicle.objects.filter(keeper__in=members).values("id")
    homes = Member.objects.filter(pk__in=members).values("collection")
    for_all_cars = Q(noun="interval-rules", vehicle=None, collection__in=homes)
    return Q(vehicle__in=cars) | Q(noun="members", record__in=members) | for_all_cars


def lines_past_their_time(at: datetime.datetime) -> QuerySet[Change]:
    """Return the lines to be removed: all before the newest one that is old enough.

    That one stays, as the sign of how far the feed reaches back. Lines of transactions that this
    cluster has not begun yet came with a copy from another one, and mean nothing here.
    """
    old = Change.objects.filter(at__lt=at - kept_for()).order_by("xid", "id").last()
    foreign = Q(xid__gte=_number(_NOT_BEGUN, 1))
    if old is None:
        return Change.objects.filter(foreign)
    return Change.objects.filter(foreign | Q(TupleLessThan(_PLACE, Place(old.xid, old.pk))))
