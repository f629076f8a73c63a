"""Cars by their registration mark, in capitals or not, with blanks or without."""

from collections.abc import Collection

from django.db.models import Q, QuerySet

from maintenance.models.vehicles import BARE_MARK, Vehicle


def bare_mark(registration: str) -> str:
    """Return a mark in small letters without blanks, as the database compares marks."""
    return registration.replace(" ", "").lower()


def with_marks(cars: QuerySet[Vehicle], marks: Collection[str]) -> QuerySet[Vehicle]:
    """Return those cars whose mark is one of some, but for capitals and blanks."""
    bare = {bare_mark(mark) for mark in marks}
    # As it is written besides: SQLite makes small letters of A to Z alone.
    return cars.alias(bare_mark=BARE_MARK).filter(Q(registration__in=marks) | Q(bare_mark__in=bare))
