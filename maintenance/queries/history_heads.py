"""The head of each car's chain: the digest that stands for all that is recorded of it."""

import uuid
from collections.abc import Iterable
from typing import NamedTuple

from django.db.models import OuterRef, Subquery

from maintenance.models import HistoryLink, Vehicle


class Head(NamedTuple):
    """How many records a car's chain has, and the digest of the last."""

    length: int
    digest: str


NOTHING_YET = Head(0, "")


def heads_of(vehicles: Iterable[uuid.UUID]) -> dict[uuid.UUID, Head]:
    """Return the heads of some cars by their identifiers; cars of which nothing is recorded lack.

    One query, which looks up the last link of each car and no other.
    """
    last = HistoryLink.objects.filter(vehicle=OuterRef("pk")).order_by("-sequence")
    rows = (
        Vehicle.objects.filter(pk__in=list(vehicles))
        .annotate(
            length=Subquery(last.values("sequence")[:1]), digest=Subquery(last.values("digest")[:1])
        )
        .filter(length__isnull=False)
    )
    return {
        vehicle: Head(length, digest)
        for vehicle, length, digest in rows.values_list("pk", "length", "digest")
    }
