"""Take somebody's name out of the texts on record, each by a record of its own."""

import datetime
import re
import uuid
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet

from maintenance.models import (
    Account,
    Collection,
    Entry,
    Finding,
    Member,
    TextErasure,
    Vehicle,
)
from maintenance.models.base import Sealed
from maintenance.services.cars import locked, locked_with_linked
from maintenance.services.chain import KINDS, fingerprint
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.rows import Origin, write

#: Where texts stand, and how each table leads to its record.
TABLES: dict[type[Sealed], str] = {
    **{kind: "" for kind in KINDS},
    Entry: "event__",
    Finding: "inspection__",
}
#: A single letter is no name to be looked for.
_SHORTEST = 2


@dataclass(frozen=True)
class Names:
    """How somebody is called in texts, and what stands there instead."""

    pattern: re.Pattern[str] | None
    label: str

    @classmethod
    def of(cls, account: Account, members: Iterable[Member], label: str) -> "Names":
        """Return the names of a person: of the memberships, and the full name of the account."""
        called = {account.get_full_name(), *(member.name for member in members)}
        called = {name.strip() for name in called if len(name.strip()) >= _SHORTEST}
        # The longest first, or a short name would leave the rest of a longer one standing.
        ordered = sorted(called, key=lambda name: (-len(name), name))
        if not ordered:
            return cls(None, label)
        either = "|".join(re.escape(name) for name in ordered)
        return cls(re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE), label)

    def without(self, text: str) -> str:
        """Return a text with the label in place of every name."""
        return text if self.pattern is None else self.pattern.sub(self.label, text)


class _Place(NamedTuple):
    table: type[Sealed]
    pk: uuid.UUID


def erase_from_texts(
    *,
    names: Names,
    collections: Sequence[Collection],
    recorded_by: Account | None,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> tuple[int, int]:
    """Erase names from all texts of some collections' cars, and from what an account recorded.

    To be called in a transaction; takes the locks of all cars of the collections, and of those on
    which the account recorded something. Every text of the collections is read once. Returns how
    many were erased, and how many stay because they were recorded before texts had fingerprints. A
    correction that repeats a text is one more text.
    """
    _lock_cars(collections, recorded_by)
    scope = Q(collection__in=[collection.pk for collection in collections])
    found: dict[uuid.UUID, list[_Place]] = defaultdict(list)
    for table, path in TABLES.items():
        wanted = scope | Q(**{f"{path}recorded_by": recorded_by}) if recorded_by else scope
        for of_car, place in _naming(table, path, wanted, names):
            found[of_car].append(place)
    erased = left = 0
    for car in Vehicle.objects.filter(pk__in=found).order_by("pk"):
        vehicle = locked(car, even_closed=True)
        origin = Origin(by=by, at=at)
        for table, pk in found[car.pk]:
            done, stays = _erase(table._default_manager.get(pk=pk), vehicle, origin, names)
            erased, left = erased + done, left + stays
        # What is put off shows its reason in calendars.
        recompute_vehicles(vehicles=[vehicle], on=today)
    return erased, left


def _lock_cars(collections: Sequence[Collection], recorded_by: Account | None) -> None:
    cars = set(Vehicle.objects.filter(collection__in=collections).values_list("pk", flat=True))
    if recorded_by is not None:
        for table, path in TABLES.items():
            theirs = table._default_manager.filter(**{f"{path}recorded_by": recorded_by})
            cars |= set(theirs.values_list(f"{path}vehicle", flat=True))
    locked_with_linked(Vehicle.objects.filter(pk__in=cars))


def _naming(
    table: type[Sealed], path: str, wanted: Q, names: Names
) -> Iterator[tuple[uuid.UUID, _Place]]:
    rows: QuerySet[Any] = table._default_manager.filter(wanted)
    columns = ("pk", f"{path}vehicle", *table.TEXTS)
    # Compared here: a database that ignores case does so for ASCII alone.
    for pk, car, *texts in rows.order_by("pk").values_list(*columns).iterator(2000):
        if any(names.without(text) != text for text in texts):
            yield car, _Place(table, pk)


def _erase(row: Any, vehicle: Vehicle, origin: Origin, names: Names) -> tuple[int, int]:
    """Erase names from the texts of one row; first the record of it, by leave of which it may."""
    changed: dict[str, str] = {}
    left = 0
    for name in row.TEXTS:
        text = getattr(row, name)
        now_reads = names.without(text)[: row._meta.get_field(name).max_length]
        if now_reads == text:
            continue
        seal = _fingerprint(row, name, text, vehicle)
        if seal is None:
            left += 1
            continue
        write(
            TextErasure(
                **origin.columns(vehicle),
                table=row._meta.model_name,
                erased_in=row.pk,
                field=name,
                fingerprint=seal,
                now_reads=now_reads,
            )
        )
        changed[name] = now_reads
    if changed:
        salts = {name: salt for name, salt in row.salts.items() if name not in changed}
        type(row)._default_manager.filter(pk=row.pk).update(**changed, salts=salts)
    return len(changed), left


def _fingerprint(row: Any, name: str, text: str, vehicle: Vehicle) -> str | None:
    if name in row.salts:
        return fingerprint(row.salts[name], text)
    earlier = (
        TextErasure.objects.filter(vehicle=vehicle, erased_in=row.pk, field=name)
        .order_by("recorded_at", "pk")
        .last()
    )
    return None if earlier is None else earlier.fingerprint
