"""The nightly pass: each collection once on each of its local days, however often it is asked."""

import datetime
from collections.abc import Callable
from typing import Final

from django.db.models import Q, QuerySet

from maintenance.models import Collection, NightlyPass
from maintenance.models.base import new_id
from maintenance.services.recompute import recompute_collection

LEASE: Final = datetime.timedelta(minutes=30)
"""How long a pass may say nothing before another may begin; it is renewed with every chunk."""


def collections_to_compute(*, at: datetime.datetime) -> list[Collection]:
    """Return the collections whose local day has not been computed yet."""
    done = dict(NightlyPass.objects.values_list("collection", "done_on"))
    return [
        collection
        for collection in Collection.objects.order_by("id")
        if (done.get(collection.id) or datetime.date.min) < _day(collection, at)
    ]


def compute_for_the_day(
    *, collection: Collection, clock: Callable[[], datetime.datetime]
) -> int | None:
    """Recompute a collection if its local day was not yet; return how many items changed.

    None where the day is done or another is at it. A pass that failed may be begun anew at once,
    one that died when its lease has run out; what it had computed is not written twice.
    """
    NightlyPass.objects.get_or_create(collection=collection)
    begun, mark = clock(), new_id()
    day = _day(collection, begun)
    row = NightlyPass.objects.filter(collection=collection)
    if not _free(row, day, begun).update(claim=mark, leased_until=begun + LEASE):
        return None
    held = row.filter(claim=mark)
    try:
        changed = recompute_collection(
            collection=collection,
            on=day,
            progress=lambda cars: _renew(held, clock()),
        )
    except Exception:
        held.update(claim=None, leased_until=None)
        raise
    held.update(done_on=day, claim=None, leased_until=None)
    return changed


def _free(
    row: QuerySet[NightlyPass], day: datetime.date, at: datetime.datetime
) -> QuerySet[NightlyPass]:
    to_do = Q(done_on__isnull=True) | Q(done_on__lt=day)
    unheld = Q(leased_until__isnull=True) | Q(leased_until__lte=at)
    return row.filter(to_do, unheld)


def _renew(held: QuerySet[NightlyPass], at: datetime.datetime) -> None:
    held.update(leased_until=at + LEASE)


def _day(collection: Collection, at: datetime.datetime) -> datetime.date:
    return at.astimezone(collection.zone).date()
