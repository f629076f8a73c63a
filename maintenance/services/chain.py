"""Each car's records as a chain: every link stands for a record and for all before it.

A link's digest is the SHA-256 of the digest before it and the record's canonical JSON (RFC 8785),
with all that belongs to the record: entries, their measurements and parts carried over, findings.
Whoever changes a record, takes one out, puts one in or changes their order would have to write
all later links anew, and even that shows against a head that was noted before.

Two columns are outside the digest, because they may change: `current`, which follows from the
records that supersede, and `collection`, which changes when a car is handed over. A text that may
name somebody is in it by its fingerprint, the SHA-256 of a salt and the text; where a name was
taken out of it, the record of that erasure vouches for fingerprint and new text (`text_erasures`).
Members that say nothing (null, empty text, empty list, false) are left out of the JSON, so that a
column added later leaves the digests of older records as they are.
"""

import datetime
import hashlib
import uuid
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Any

import orjson
from django.db.models import DecimalField, Model

from maintenance.models import (
    Arrival,
    Attachment,
    CarriedOver,
    Departure,
    Entry,
    Finding,
    HistoryLink,
    Inspection,
    LayUp,
    Measurement,
    OdometerChange,
    OdometerReading,
    Postponement,
    ServiceEvent,
    TextErasure,
)
from maintenance.models.base import Evidence, Sealed
from maintenance.queries.history_heads import NOTHING_YET, Head, heads_of

Kind = HistoryLink.Kind
KINDS: dict[type[Evidence], HistoryLink.Kind] = {
    OdometerReading: Kind.ODOMETER_READING,
    OdometerChange: Kind.ODOMETER_CHANGE,
    LayUp: Kind.LAY_UP,
    ServiceEvent: Kind.SERVICE_EVENT,
    Inspection: Kind.INSPECTION,
    Attachment: Kind.ATTACHMENT,
    Postponement: Kind.POSTPONEMENT,
    Departure: Kind.DEPARTURE,
    Arrival: Kind.ARRIVAL,
    TextErasure: Kind.TEXT_ERASURE,
}
"""Every table of records, and what its records are called in the chain."""

_OUTSIDE = {
    "current",
    "collection",
    # They go with the texts that they hide.
    "salts",
    # What a row belongs to is told by where it stands in the tree.
    "event",
    "entry",
    "inspection",
}


@dataclass
class Parts:
    """Rows that belong to records, by the row they belong to."""

    entries: dict[uuid.UUID, list[Entry]] = field(default_factory=lambda: defaultdict(list))
    carried_over: dict[uuid.UUID, list[CarriedOver]] = field(
        default_factory=lambda: defaultdict(list)
    )
    measurements: dict[uuid.UUID, list[Measurement]] = field(
        default_factory=lambda: defaultdict(list)
    )
    findings: dict[uuid.UUID, list[Finding]] = field(default_factory=lambda: defaultdict(list))
    erasures: dict[tuple[uuid.UUID, str], TextErasure] = field(default_factory=dict)
    """The last erasure of each text, by its row and name."""

    def add(self, row: Any) -> None:
        """Take a row that belongs to a record; any other row is left aside."""
        if isinstance(row, Entry):
            self.entries[row.event_id].append(row)
        elif isinstance(row, CarriedOver):
            self.carried_over[row.entry_id].append(row)
        elif isinstance(row, Measurement):
            self.measurements[row.entry_id].append(row)
        elif isinstance(row, Finding):
            self.findings[row.inspection_id].append(row)


def append(records: Sequence[Evidence], parts: Parts) -> None:
    """Chain records that were just written, in the order given.

    To be called in the transaction that writes them, under the locks of their cars: without the
    lock two writers would build on one head.
    """
    heads = heads_of({record.vehicle_id for record in records})
    links = []
    for record in records:
        head = heads.get(record.vehicle_id, NOTHING_YET)
        made = digest(head.digest, tree(record, parts))
        links.append(
            HistoryLink(
                collection_id=record.collection_id,
                vehicle_id=record.vehicle_id,
                sequence=head.length + 1,
                kind=KINDS[type(record)],
                record=record.pk,
                previous=head.digest,
                digest=made,
            )
        )
        heads[record.vehicle_id] = Head(head.length + 1, made)
    HistoryLink.objects.bulk_create(links, batch_size=500)


def digest(previous: str, said: dict[str, Any]) -> str:
    """Return the digest of a record's tree after the digest before it, in hexadecimal."""
    return hashlib.sha256(bytes.fromhex(previous) + canonical(said)).hexdigest()


def canonical(said: dict[str, Any]) -> bytes:
    """Return the canonical JSON (RFC 8785) of a tree of text, whole numbers and truth values.

    For such a tree, with ASCII keys, sorting the keys and writing no space is all there is to it;
    the tests hold this against a library of the RFC, which takes thirty times as long.
    """
    return orjson.dumps(said, option=orjson.OPT_SORT_KEYS)


def tree(record: Evidence, parts: Parts) -> dict[str, Any]:
    """Return all that a record says, with what belongs to it."""
    said = {"record": str(KINDS[type(record)]), **_said(record, parts)}
    if isinstance(record, ServiceEvent):
        rows = sorted(parts.entries.get(record.pk, ()), key=lambda entry: entry.sequence)
        said["entries"] = [_entry(entry, parts) for entry in rows]
    elif isinstance(record, Inspection):
        found = sorted(parts.findings.get(record.pk, ()), key=lambda finding: finding.sequence)
        said["findings"] = [_said(finding, parts) for finding in found]
    return said


def _entry(entry: Entry, parts: Parts) -> dict[str, Any]:
    said = _said(entry, parts)
    said["measurement"] = [_said(row, parts) for row in parts.measurements.get(entry.pk, ())]
    left = sorted(parts.carried_over.get(entry.pk, ()), key=lambda row: str(row.component_id))
    said["carried_over"] = [_said(row, parts) for row in left]
    return said


def _said(row: Model, parts: Parts) -> dict[str, Any]:
    said = {}
    texts = row.TEXTS if isinstance(row, Sealed) else ()
    for name, attribute, written in _columns(type(row)):
        value = getattr(row, attribute)
        if value is not None and value is not False and value != "" and value != []:
            said[name] = _sealed(row, name, value, parts) if name in texts else written(value)
    return said


def _sealed(row: Any, name: str, text: str, parts: Parts) -> Any:
    """Return what goes into the digest for a text that may name somebody."""
    salt = row.salts.get(name)
    if salt is not None:
        return {"sha256": fingerprint(salt, text)}
    erasure = parts.erasures.get((row.pk, name))
    if erasure is None:
        return text  # recorded before texts had fingerprints
    # Any other text than the one vouched for was put in past the services.
    return {"sha256": erasure.fingerprint if text == erasure.now_reads else ""}


def fingerprint(salt: str, text: str) -> str:
    """Return the fingerprint of a text under its salt, in hexadecimal."""
    return hashlib.sha256(bytes.fromhex(salt) + text.encode()).hexdigest()


@cache
def _columns(model: type[Model]) -> list[tuple[str, str, Callable[[Any], Any]]]:
    return [
        (column.name, column.attname, _writer(column))
        for column in model._meta.concrete_fields
        if column.name not in _OUTSIDE
    ]


def _writer(column: Any) -> Callable[[Any], Any]:
    if not isinstance(column, DecimalField):
        return _plain
    # 47610 and 47610.0 are one figure: a database gives back as many decimals as it keeps.
    step = Decimal(1).scaleb(-column.decimal_places)
    return lambda value: format(Decimal(value).quantize(step).normalize(), "f")


def _plain(value: Any) -> Any:
    if isinstance(value, datetime.datetime):
        return value.astimezone(datetime.UTC).isoformat(timespec="microseconds")
    if isinstance(value, datetime.date):
        return value.isoformat()
    return str(value) if isinstance(value, uuid.UUID | str) else value


def parts_of(records: Collection[Evidence]) -> Parts:
    """Read what belongs to some records, and what was erased in their cars; five queries."""
    cars = {record.vehicle_id for record in records}
    events, inspections = [], []
    for record in records:
        if isinstance(record, ServiceEvent):
            events.append(record.pk)
        elif isinstance(record, Inspection):
            inspections.append(record.pk)
    parts = Parts()
    rows: list[Iterable[Model]] = [
        Entry.objects.filter(event__in=events),
        CarriedOver.objects.filter(entry__event__in=events),
        Measurement.objects.filter(entry__event__in=events),
        Finding.objects.filter(inspection__in=inspections),
    ]
    for some in rows:
        for row in some:
            parts.add(row)
    for erasure in TextErasure.objects.filter(vehicle__in=cars).order_by("recorded_at", "pk"):
        parts.erasures[erasure.erased_in, erasure.field] = erasure
    return parts
