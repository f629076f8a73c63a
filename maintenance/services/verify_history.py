"""Hold what is on record of each car against its chain, and name every record that differs."""

import itertools
import uuid
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.db.models import Exists, OuterRef, QuerySet

from maintenance.models import Attachment, HistoryLink, Vehicle
from maintenance.models.base import Evidence
from maintenance.services.chain import KINDS, digest, parts_of, tree

CARS_TOGETHER = 50
RECORDS_TOGETHER = 500
"""So many are read at a time; a database takes only so many parameters in one query."""

What = Literal["changed", "removed", "inserted", "reordered"]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A record that is not as the chain has it."""

    vehicle: Vehicle
    what: What
    kind: str
    record: uuid.UUID | None
    sequence: int | None
    """Its place in the chain, from 1; none where it has no place there."""
    message: str


@dataclass(frozen=True)
class Verified:
    """A car whose history was held against its chain."""

    vehicle: Vehicle
    length: int
    head: str
    digests: frozenset[str]
    erased: int
    """Texts out of which a name was taken; each reads as the record of its erasure says."""
    faults: list[Fault]


def verify_history(
    vehicles: Iterable[Vehicle], *, progress: Callable[[int], None] = lambda cars: None
) -> Iterator[Verified]:
    """Verify cars one after the other, a few read at a time; some twenty queries for every fifty.

    A change that whoever made it also carried through all later links, or the removal of the
    latest records with their links, shows only against a head noted before: each is in `digests`
    as long as what it stood for is unchanged. `progress` is told how many cars were done.
    """
    cars = iter(vehicles)
    while some := list(itertools.islice(cars, CARS_TOGETHER)):
        links: dict[uuid.UUID, list[HistoryLink]] = defaultdict(list)
        rows = HistoryLink.objects.filter(vehicle__in=some).order_by("vehicle", "sequence")
        for link in rows.iterator(chunk_size=2000):
            links[link.vehicle_id].append(link)
        faults: dict[uuid.UUID, list[Fault]] = defaultdict(list)
        by_car = {car.pk: car for car in some}
        found = itertools.chain(
            *(_out_of_place(car, links[car.pk]) for car in some),
            _differing(by_car, [link for car in some for link in links[car.pk]]),
            _not_chained(by_car),
        )
        for fault in found:
            faults[fault.vehicle.pk].append(fault)
        for car in some:
            yield _verified(car, links[car.pk], faults[car.pk])
        progress(len(some))


def _verified(car: Vehicle, links: Sequence[HistoryLink], faults: list[Fault]) -> Verified:
    return Verified(
        vehicle=car,
        length=len(links),
        head=links[-1].digest if links else "",
        digests=frozenset(link.digest for link in links),
        erased=sum(link.kind == HistoryLink.Kind.TEXT_ERASURE for link in links),
        faults=sorted(faults, key=lambda fault: (fault.sequence is None, fault.sequence or 0)),
    )


def _out_of_place(car: Vehicle, links: Sequence[HistoryLink]) -> Iterator[Fault]:
    """Tell where links do not follow each other as they were written."""
    followed = _as_written(links)
    if len(followed) == len(links):
        for link, written in zip(links, followed, strict=True):
            if link is not written:
                place = followed.index(link) + 1
                yield _fault(car, "reordered", link, f"stands in place {link.sequence} of {place}")
        return
    digests = {link.digest for link in links}
    before, place = "", 0
    for link in links:
        if link.previous != before and link.previous and link.previous not in digests:
            gone = "is gone" if link.sequence > place + 1 else "has another digest now"
            yield _fault(car, "removed", link, f"follows one that {gone}")
        elif link.previous != before:
            yield _fault(car, "reordered", link, "does not follow the record it was written after")
        before, place = link.digest, link.sequence


def _as_written(links: Sequence[HistoryLink]) -> list[HistoryLink]:
    """Follow the links from one digest to the next as far as they lead."""
    after = {link.previous: link for link in links}
    followed: list[HistoryLink] = []
    link = after.pop("", None)
    while link is not None:
        followed.append(link)
        link = after.pop(link.digest, None)
    return followed


def _differing(by_car: dict[uuid.UUID, Vehicle], links: Sequence[HistoryLink]) -> Iterator[Fault]:
    """Tell which records are gone, or do not say what they said when they were chained."""
    for start in range(0, len(links), RECORDS_TOGETHER):
        some = links[start : start + RECORDS_TOGETHER]
        records, superseded = _records(some)
        parts = parts_of(records.values())
        for link in some:
            car, record = by_car[link.vehicle_id], records.get(link.record)
            if record is None:
                yield _fault(car, "removed", link, "is gone")
            elif not _says(link, tree(record, parts)):
                yield _fault(car, "changed", link, "does not say what it said when it was recorded")
            elif isinstance(record, Attachment) and not record.is_intact():
                yield _fault(car, "changed", link, "has lost its file, or the file was changed")
            elif record.current == (record.pk in superseded):
                text = "in force" if record.current else "out of force"
                yield _fault(car, "changed", link, f"is {text}, against what was recorded later")


def _says(link: HistoryLink, said: dict[str, Any]) -> bool:
    try:
        return digest(link.previous, said) == link.digest
    except ValueError:  # no digest at all stands there, or no text
        return False


def _records(
    links: Sequence[HistoryLink],
) -> tuple[dict[uuid.UUID, Evidence], set[uuid.UUID]]:
    """Return the records of some links, and which of them are superseded."""
    records: dict[uuid.UUID, Evidence] = {}
    superseded: set[uuid.UUID] = set()
    for model, kind in KINDS.items():
        wanted = [link.record for link in links if link.kind == kind]
        if wanted:
            rows = model._default_manager
            records |= {row.pk: row for row in rows.filter(pk__in=wanted)}
            superseded |= set(
                rows.filter(supersedes__in=wanted).values_list("supersedes", flat=True)
            )
    return records, superseded


def _not_chained(by_car: dict[uuid.UUID, Vehicle]) -> Iterator[Fault]:
    """Tell which records were put in past the services, which chain all that they write."""
    for model, kind in KINDS.items():
        chained = HistoryLink.objects.filter(record=OuterRef("pk"), kind=kind)
        # The car is a column of each kind of record, which their common ground can't tell.
        every: QuerySet[Any] = model._default_manager.all()
        rows = every.filter(~Exists(chained), vehicle__in=list(by_car)).order_by("pk")
        for pk, vehicle in rows.values_list("pk", "vehicle"):
            yield Fault(
                vehicle=by_car[vehicle],
                what="inserted",
                kind=kind,
                record=pk,
                sequence=None,
                message=f"{kind.label} {pk} has no place in the chain",
            )


def _fault(car: Vehicle, what: What, link: HistoryLink, text: str) -> Fault:
    return Fault(
        vehicle=car,
        what=what,
        kind=link.kind,
        record=link.record,
        sequence=link.sequence,
        message=f"{link.get_kind_display()} {link.record} (place {link.sequence}) {text}",
    )
