"""Export cars with their history as a history file, in an order that depends on nothing else.

What is exported and imported into an empty database is exported again to an equal file.
"""

import dataclasses
import datetime
import json
import uuid
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from maintenance.models import Collection, IntervalRule, Vehicle
from maintenance.queries.history_heads import heads_of
from maintenance.services.drafts import (
    Destination,
    DueItemName,
    EntryDraft,
    InspectionDraft,
    LayUpDraft,
    Place,
    PostponementDraft,
    ServiceEventDraft,
    VehicleDraft,
)
from maintenance.services.history_file.contents import CarContents
from maintenance.services.history_file.due_item_names import CarItems, asked_by
from maintenance.services.history_file.stored import StoredCar, stored_cars
from maintenance.services.rule_rows import rule_of


def export_history(
    *,
    collection: Collection,
    vehicles: Iterable[Vehicle] | None = None,
    with_heads: bool = False,
) -> dict[str, Any]:
    """Return the history file of a collection, or of some of its cars.

    Records in force only: what was corrected or withdrawn is not in it. The collection's rules
    are in it, but for those of cars that are not. `with_heads` adds to each car the head of its
    chain, by which can be told later that nothing before it was changed.
    """
    cars = Vehicle.objects.filter(collection=collection) if vehicles is None else vehicles
    stored = sorted(stored_cars(cars), key=lambda car: car.row.registration)
    marks = {car.row.registration for car in stored}
    heads = _heads(stored) if with_heads else {}
    rules = list(IntervalRule.objects.filter(collection=collection).select_related("vehicle"))
    asked_of = asked_by(rules)
    document: dict[str, Any] = {
        "collection": {
            "name": collection.name,
            "time_zone": collection.time_zone,
            "distance_unit": collection.distance_unit,
        },
        "interval_rules": [
            rule
            for rule in _in_order(map(_rule, rules))
            if "vehicle" not in rule or rule["vehicle"] in marks
        ],
        "vehicles": [
            {
                **_car(car.contents, CarItems.of(asked_of(car.row), car.contents)),
                **heads.get(car.row.pk, {}),
            }
            for car in stored
        ],
    }
    return {key: value for key, value in document.items() if value or key == "vehicles"}


def as_text(document: Mapping[str, Any]) -> str:
    """Return a document as JSON text: indented, UTF-8 letters as they are, one line end last."""
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _heads(cars: Iterable[StoredCar]) -> dict[uuid.UUID, dict[str, Any]]:
    found = heads_of(car.row.pk for car in cars)
    return {car: {"history_head": head.digest} for car, head in found.items()}


def _rule(row: IntervalRule) -> dict[str, Any]:
    terms = dataclasses.asdict(rule_of(row))
    scope = {
        "vehicle": row.vehicle.registration if row.vehicle else None,
        "make": row.make,
        "model": row.model,
        "position": row.position,
    }
    return _said({"name": terms.pop("name"), "kind": terms.pop("kind"), **scope, **terms})


def _car(car: CarContents, items: CarItems) -> dict[str, Any]:
    return _said(
        {
            **_vehicle(car.vehicle),
            "odometer_readings": _in_order(map(_plain, car.odometer_readings)),
            "odometer_changes": _in_order(map(_plain, car.odometer_changes)),
            "lay_ups": _in_order(map(_lay_up, car.lay_ups)),
            "components": _in_order(
                {
                    **draft.place._asdict(),
                    "assembly": _place(draft.assembly),
                    "storage": draft.storage,
                }
                for draft in car.components
            ),
            # As recorded: which of two deeds of one day came first can decide what it came to.
            "service_events": [_said(_event(event)) for event in car.service_events],
            "inspections": _in_order(map(_inspection, car.inspections)),
            "papers": _in_order(_renamed(_plain(paper)) for paper in car.papers),
            "specification": _in_order(map(_plain, car.specification)),
            "postponements": _in_order(_postponement(draft, items) for draft in car.postponements),
            "departures": _in_order(map(_plain, car.departures)),
        }
    )


def _vehicle(draft: VehicleDraft) -> dict[str, Any]:
    described = _plain(draft)
    season = {
        "from_month": described.pop("season_from_month"),
        "to_month": described.pop("season_to_month"),
    }
    return {**described, "season": season}


def _plain(draft: Any) -> dict[str, Any]:
    row: dict[str, Any] = dataclasses.asdict(draft)
    return row


def _renamed(row: dict[str, Any]) -> dict[str, Any]:
    """Give the keys their names in the file, where Python keeps the word for itself."""
    return {{"from_on": "from", "to_on": "to"}.get(key, key): value for key, value in row.items()}


def _place(place: Place | None) -> dict[str, str] | None:
    return None if place is None else {"kind": place.kind, "position": place.position}


def _lay_up(draft: LayUpDraft) -> dict[str, Any]:
    return _renamed({**_plain(draft), "preparations": list(draft.preparations)})


def _event(draft: ServiceEventDraft) -> dict[str, Any]:
    return {**_plain(draft), "entries": [_entry(entry) for entry in draft.entries]}


def _entry(draft: EntryDraft) -> dict[str, Any]:
    row = {**draft.place._asdict(), **_plain(draft)}
    del row["place"]
    row["carried_over"] = [_place(part) for part in draft.carried_over]
    row["to"] = draft.to and _destination(draft.to)
    return row


def _destination(to: Destination) -> dict[str, str]:
    """Return where a part went; the only place of its kind has no position to name."""
    return {"position": to.position, "vehicle": to.vehicle}


def _inspection(draft: InspectionDraft) -> dict[str, Any]:
    findings = [
        {**finding.place._asdict(), "category": finding.category, "note": finding.note}
        for finding in draft.findings
    ]
    return {**_plain(draft), "findings": findings}


def _postponement(draft: PostponementDraft, items: CarItems) -> dict[str, Any]:
    gone = draft.gone or not items.has(draft.item)
    return {
        draft.item.of: _item(draft.item.bare() if gone else draft.item),
        "rule": draft.rule,
        "since": draft.since,
        "until": draft.until,
        "why": draft.why,
        "gone": gone or None,
    }


def _item(name: DueItemName) -> dict[str, Any] | bool:
    if name.of == "inspection":
        return True
    row = {"on": name.on, **name.place._asdict(), **_plain(name)}
    for key in ("of", "place"):
        del row[key]
    # What holds unless something else is said is left out.
    always, first = name.applies == "always", name.which == 1
    return row | {
        "applies": None if always else name.applies,
        "which": None if first else name.which,
    }


def _in_order(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Order records by their day, or what else they begin with, then by all they say."""
    return sorted((_said(row) for row in rows), key=lambda row: list(_sort_key(row)))


def _sort_key(row: Mapping[str, Any]) -> Iterator[str]:
    yield str(row.get("on", row.get("from", "")))
    yield f"{row.get('odometer', row.get('value', 0)):>012}" if "on" in row else ""
    yield json.dumps(row)


def _said(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return plain JSON values, leaving out what says nothing: null, empty text, empty lists."""
    members = {key: _value(member) for key, member in row.items()}
    return {
        key: member
        for key, member in members.items()
        # A move to the only place of its kind on the same car names neither, and yet goes there.
        if not _is_nothing(member) or (key == "to" and member == {})
    }


def _value(value: Any) -> Any:
    if isinstance(value, Mapping):
        return _said(value)
    if isinstance(value, list | tuple):
        return [_value(member) for member in value]
    if isinstance(value, Decimal):
        # At most 12 digits are stored; a double holds 15 and prints the shortest that is the same.
        return int(value) if value == value.to_integral_value() else float(value)
    return value.isoformat() if isinstance(value, datetime.date) else value


def _is_nothing(value: Any) -> bool:
    return value is None or value == "" or value == [] or value == {}
