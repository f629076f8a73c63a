"""Issue the secret addresses of calendar feeds, change what they show, revoke them."""

import datetime
import secrets
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import transaction

from maintenance.catalogue.words import unknown
from maintenance.engine.columns import CRITICALITIES
from maintenance.models import CalendarFeed, Member, Vehicle
from maintenance.queries.access import sight_of_member
from maintenance.reminders.calendar.feeds import digest_of
from maintenance.services.checks.figures import text_problems
from maintenance.services.recompute import recompute_collection, recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.versions import locked_at

#: By this a scanner for leaked secrets can tell what it has found.
PREFIX = "idlecal_"
LEAD_TIMES = (60, 30, 7, 0)
#: Days before the due day at which an alarm may sound, and how many alarms an entry may have.
LONGEST_LEAD, MOST_ALARMS = 365, 10
_RANDOM_BYTES = 32
_CHANGEABLE = ("name", "scope", "vehicle", "criticalities", "form", "lead_times")


def issue_feed(
    *, member: Member, given: Mapping[str, Any], at: datetime.datetime, today: datetime.date
) -> tuple[CalendarFeed, str]:
    """Issue a feed to a member; return it with the secret of its address, shown this once.

    `given` are fields of the feed; what is left out has its default. Its cars are recomputed
    unless a feed of the whole collection stands, which writes their calendar entries: once, some
    milliseconds an entry, and some cars at a time, so that nobody who writes to one of them waits
    for all.
    Refused: an unknown scope, form or criticality, a lead time out of range, a car that the
    member may not see, a whole collection for who sees only some of it.
    """
    secret = PREFIX + secrets.token_urlsafe(_RANDOM_BYTES)
    feed = CalendarFeed(
        **{"criticalities": list(CRITICALITIES), "lead_times": list(LEAD_TIMES), **given},
        member=member,
        collection_id=member.collection_id,
        digest=digest_of(secret),
        issued_at=at,
    )
    refuse_if_any(_problems(feed))
    _in_order(feed)
    feed.save(force_insert=True)
    _write_entries(feed, today)
    return feed, secret


def change_feed(
    *, feed: CalendarFeed, version: int, changes: Mapping[str, Any], today: datetime.date
) -> CalendarFeed:
    """Change what a feed shows; its address stays. Refused, and cars recomputed, as at issue."""
    row = _change(feed, version, changes)
    if {"scope", "vehicle"} & changes.keys():
        _write_entries(row, today)
    return row


@transaction.atomic
def _change(feed: CalendarFeed, version: int, changes: Mapping[str, Any]) -> CalendarFeed:
    row = locked_at(feed, version)
    for name, value in changes.items():
        if name not in _CHANGEABLE:
            raise TypeError(f"{name} of a calendar feed is not for the caller to change")
        setattr(row, name, value)
    if row.scope != CalendarFeed.Scope.VEHICLE and "vehicle" not in changes:
        row.vehicle = None
    refuse_if_any(_problems(row))
    _in_order(row)
    row.save(update_fields=[*_CHANGEABLE, "version"])
    return row


@transaction.atomic
def renew_address(*, feed: CalendarFeed, at: datetime.datetime) -> str:
    """Give a feed another address and return its secret; the old one is not found from now on."""
    secret = PREFIX + secrets.token_urlsafe(_RANDOM_BYTES)
    row = CalendarFeed.objects.select_for_update(no_key=True).get(pk=feed.pk)
    row.digest, row.issued_at, row.version = digest_of(secret), at, row.version + 1
    row.save(update_fields=["digest", "issued_at", "version"])
    return secret


@transaction.atomic
def revoke_feed(*, feed: CalendarFeed, version: int) -> None:
    """Revoke a feed: its address is not found from now on."""
    locked_at(feed, version).delete()


def _write_entries(feed: CalendarFeed, today: datetime.date) -> None:
    """Have the calendar entries of a feed's cars written, unless another feed keeps them all."""
    of_all = CalendarFeed.objects.filter(
        collection=feed.collection_id, scope=CalendarFeed.Scope.COLLECTION
    )
    if of_all.exclude(pk=feed.pk).exists():
        return
    if feed.scope == CalendarFeed.Scope.COLLECTION:
        recompute_collection(collection=feed.collection, on=today)
        return
    cars = Vehicle.objects.filter(collection=feed.collection_id)
    one = feed.vehicle_id
    cars = cars.filter(keeper=feed.member_id) if one is None else cars.filter(pk=one)
    recompute_vehicles(vehicles=cars, on=today)


def _in_order(feed: CalendarFeed) -> None:
    feed.criticalities = [each for each in CRITICALITIES if each in feed.criticalities]
    feed.lead_times = sorted(set(feed.lead_times), reverse=True)


def _problems(feed: CalendarFeed) -> Iterator[Problem]:
    yield from text_problems("/name", feed.name, longest=80, required=True)
    yield from _scope_problems(feed)
    if feed.form not in CalendarFeed.Form.values:
        yield Problem("/form", unknown("form", feed.form, CalendarFeed.Form.values))
    if not feed.criticalities:
        yield Problem("/criticalities", "is empty, so nothing would be shown; name one at least")
    for place, criticality in enumerate(feed.criticalities):
        if criticality not in CRITICALITIES:
            text = unknown("criticality", criticality, list(CRITICALITIES))
            yield Problem(f"/criticalities/{place}", text)
    if len(set(feed.lead_times)) > MOST_ALARMS:
        yield Problem("/lead_times", f"has more than {MOST_ALARMS} days; leave some out")
    for place, days in enumerate(feed.lead_times):
        if not 0 <= days <= LONGEST_LEAD:
            text = f"{days} days is out of range; give 0 to {LONGEST_LEAD} days before the due day"
            yield Problem(f"/lead_times/{place}", text)


def _sees_all_cars(member: Member) -> bool:
    return sight_of_member(member).may("see", "vehicles", member.collection)


def _scope_problems(feed: CalendarFeed) -> Iterator[Problem]:
    member, scope = feed.member, feed.scope
    if scope not in CalendarFeed.Scope.values:
        yield Problem("/scope", unknown("scope", scope, CalendarFeed.Scope.values))
    elif scope == CalendarFeed.Scope.COLLECTION and not _sees_all_cars(member):
        yield Problem("/scope", "a keeper sees only their own cars; give the scope 'member'")
    elif scope == CalendarFeed.Scope.VEHICLE:
        sight = sight_of_member(member)
        if feed.vehicle_id is None:
            yield Problem("/vehicle", "is missing; name the car of a feed of the scope 'vehicle'")
        elif not sight.vehicles().filter(pk=feed.vehicle_id).exists():
            yield Problem("/vehicle", "is no car of the collection that the member may see")
    elif feed.vehicle_id is not None:
        yield Problem("/vehicle", f"belongs to a feed of the scope 'vehicle', not {scope!r}")
