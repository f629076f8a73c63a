"""Which car of the collection a row is about."""

import re
from collections import defaultdict
from typing import NamedTuple
from uuid import UUID

from django.db.models import QuerySet

from maintenance.catalogue.words import nearest
from maintenance.models import Account, Collection, Vehicle
from maintenance.queries.access import sight_of

#: Looking for the nearest of thousands of marks takes long; so many hints are enough.
_MOST_HINTS = 50


def cars_to_record_on(collection: Collection, by: Account | None) -> QuerySet[Vehicle]:
    """Return the cars of a collection that `by` may record on; all, where `by` is None.

    An officer records on all cars, a keeper on their own; whoever else has none.
    """
    if by is None:
        return Vehicle.objects.filter(collection=collection)
    return sight_of(by).vehicles_to("record", "service-events").filter(collection=collection)


class Found(NamedTuple):
    """A car, with its registration as it is kept."""

    pk: UUID
    registration: str


class Marks:
    """Registration marks as people write them: any case, with or without spaces and hyphens."""

    def __init__(self, cars: QuerySet[Vehicle]) -> None:
        self._cars = {mark: pk for pk, mark in cars.values_list("pk", "registration")}
        self._loose: dict[str, list[str]] = defaultdict(list)
        for mark in self._cars:
            self._loose[_bare(mark)].append(mark)
        self._unknown: dict[str, str] = {}

    def find(self, mark: str) -> Found:
        """Return the car of a mark.

        Raises
        ------
        ValueError
            Says which marks come nearest.
        """
        if mark in self._cars:
            return Found(self._cars[mark], mark)
        like = self._loose.get(_bare(mark), [])
        if len(like) == 1:
            return Found(self._cars[like[0]], like[0])
        if mark not in self._unknown:
            self._unknown[mark] = self._refusal(mark, like)
        raise ValueError(self._unknown[mark])

    def _refusal(self, mark: str, like: list[str]) -> str:
        if like:
            return f"{mark!r} may be {' or '.join(sorted(like))}; write it as one of them"
        near = None
        if len(self._unknown) < _MOST_HINTS:
            near = nearest(mark[:20].upper(), list(self._cars))
        hint = f"did you mean {near}?" if near else "add the car first, or correct the mark"
        return f"no car is registered {mark[:40]!r}; {hint}"


def _bare(mark: str) -> str:
    return re.sub(r"[\s\-]", "", mark).casefold()
