"""Measured climates of stores: imported from a file, and set against the cars that stand there.

Every verb takes one transaction and recomputes the cars concerned.
"""

import csv
import datetime
import io
import itertools
from collections.abc import Callable, Iterator
from typing import NamedTuple

from django.db import transaction

from maintenance.engine.ageing.climate_record import ClimateRecordError, measured_climate
from maintenance.engine.days import to_day
from maintenance.models import Collection, KeptIn, StoreClimateRecord, Vehicle
from maintenance.services.cars import locked
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any

LONGEST_STORE = 80
MOST_ROWS = 200_000
_COLUMNS = {
    "date": ("date", "day", "on"),
    "°C": ("°c", "c", "temperature_c", "temperature"),
    "%RH": ("%rh", "rh", "humidity", "relative_humidity"),
}
_READINGS = ("outdoors", "days", "temperature_c", "humidity")
_FIRST_ROW = 2
"""The first row of readings, the headings being row 1."""


class Reading(NamedTuple):
    """One line of a record: day [days since 1970-01-01], temperature [°C], humidity [%RH]."""

    day: float
    temperature_c: float
    humidity: float


@transaction.atomic
def import_climate(
    *, collection: Collection, store: str, text: str, outdoors: bool, today: datetime.date
) -> tuple[StoreClimateRecord, int]:
    """Put a record of date, °C and %RH in place of what is known of a store in its days.

    Returns the store and the number of readings that the file adds; importing it again adds none.
    All or nothing. Refused, with every bad row by its number and column: what is no date or
    number, days after today or out of order, figures out of range, and gaps over a fortnight.
    """
    refuse_if_any(_name_problems(store))
    readings = _read(text, today)
    record = (
        StoreClimateRecord.objects.select_for_update(no_key=True)
        .filter(collection=collection, store=store)
        .first()
    ) or StoreClimateRecord(collection=collection, store=store, version=0)
    before = _readings_of(record)
    first, last = readings[0].day, readings[-1].day
    kept = [each for each in before if not first <= each.day <= last]
    after = sorted([*kept, *readings], key=lambda each: each.day)
    if after != before or record.outdoors != outdoors:
        record.days, record.temperature_c, record.humidity = map(list, zip(*after, strict=True))
        record.outdoors = outdoors
        record.version += 1
        record.save()
        cars = Vehicle.objects.filter(kept_in__store=record).distinct()
        recompute_vehicles(vehicles=cars, on=today)
    return record, len(set(after) - set(before))


@transaction.atomic
def keep_in_store(
    *,
    vehicle: Vehicle,
    store: StoreClimateRecord,
    from_on: datetime.date,
    to_on: datetime.date | None,
    today: datetime.date,
) -> KeptIn:
    """Say in which measured store a car is laid up, for lay-ups begun from a day on.

    Refused for a store of another collection and an end that is not after the beginning. What
    was said for the same first day is replaced.
    """
    vehicle = locked(vehicle)
    if store.collection_id != vehicle.collection_id:
        raise Refused([Problem("/store", "there is no such store in the car's collection")])
    if to_on is not None and to_on <= from_on:
        raise Refused([Problem("/to", f"{to_on} is not after {from_on}")])
    row, _ = KeptIn.objects.update_or_create(
        vehicle=vehicle,
        from_on=from_on,
        defaults={"collection_id": vehicle.collection_id, "store": store, "to_on": to_on},
    )
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row


def take_climates_along(*, vehicle: Vehicle, to: Collection, left_on: datetime.date) -> None:
    """Copy the climates of the stores a car was kept in to the collection that takes it over.

    To be called in the transaction that hands the car over, under its lock. The copies get no
    further readings, and no lay-up begun after the car left is in them.
    """
    for kept in KeptIn.objects.filter(vehicle=vehicle).select_related("store__collection"):
        kept.store = _copied(kept.store, to)
        kept.collection = to
        # A stay has one day at least, or the database takes it for none.
        end = max(left_on, kept.from_on + datetime.timedelta(1))
        kept.to_on = end if kept.to_on is None else min(kept.to_on, end)
        kept.version += 1
        kept.save(update_fields=["store", "collection", "to_on", "version"])


def _copied(store: StoreClimateRecord, to: Collection) -> StoreClimateRecord:
    """Return the copy of a store, under its name and its collection's, numbered where taken."""
    if store.collection_id == to.pk:
        return store
    readings = {name: getattr(store, name) for name in _READINGS}
    stem = f"{store.store[:30]}, {store.collection.name}"[: LONGEST_STORE - 5]
    there = StoreClimateRecord.objects.filter(collection=to, store__startswith=stem)
    copies = {row.store: row for row in there}
    for row in copies.values():
        # Another car came from the same store.
        if readings == {name: getattr(row, name) for name in _READINGS}:
            return row
    numbered = (f"{stem} {number}" for number in itertools.count(2))
    name = next(name for name in itertools.chain([stem], numbered) if name not in copies)
    return StoreClimateRecord.objects.create(collection=to, store=name, **readings)


def _name_problems(store: str) -> Iterator[Problem]:
    if not store.strip() or len(store) > LONGEST_STORE:
        yield Problem("/store", f"give the store a name of 1 to {LONGEST_STORE} characters")


def _readings_of(record: StoreClimateRecord) -> list[Reading]:
    if not record.days:
        return []
    columns = (record.days, record.temperature_c, record.humidity)
    return [Reading(*row) for row in zip(*columns, strict=True)]


def _read(text: str, today: datetime.date) -> list[Reading]:
    heading, _, _ = text.partition("\n")
    delimiter = ";" if ";" in heading else ","
    rows = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    places = _places(rows[0] if rows else [])
    problems: list[Problem] = []
    readings = [
        Reading(
            _cell(row, places["date"], number, "date", lambda cell: _day(cell, today), problems),
            _cell(row, places["°C"], number, "°C", _number(delimiter), problems),
            _cell(row, places["%RH"], number, "%RH", _number(delimiter), problems),
        )
        for number, row in enumerate(rows[1 : MOST_ROWS + 1], _FIRST_ROW)
        if any(cell.strip() for cell in row)
    ]
    if len(rows) > MOST_ROWS + 1:
        problems.append(Problem("", f"holds more than {MOST_ROWS} rows; bring it in parts"))
    refuse_if_any(problems)
    columns = zip(*readings, strict=True) if readings else ([], [], [])
    try:
        measured_climate(*map(list, columns), first_row=_FIRST_ROW)
    except ClimateRecordError as wrong:
        raise Refused([Problem("", each) for each in wrong.problems]) from wrong
    return readings


def _places(heading: list[str]) -> dict[str, int]:
    """Return where each column stands; capitals and blanks are not held against a heading."""
    plain = [cell.strip().strip("\ufeff").casefold() for cell in heading]
    places = {
        column: plain.index(word)
        for column, words in _COLUMNS.items()
        for word in words
        if word in plain
    }
    refuse_if_any(
        Problem("", f"row 1: has no column {column}; head the columns date, °C, %RH")
        for column in _COLUMNS
        if column not in places
    )
    return places


def _cell(
    row: list[str],
    place: int,
    number: int,
    column: str,
    read: Callable[[str], float],
    problems: list[Problem],
) -> float:
    try:
        return read(row[place].strip())
    except IndexError:
        problems.append(Problem("", f"row {number}, {column}: is missing"))
    except ValueError as wrong:
        problems.append(Problem("", f"row {number}, {column}: {wrong}"))
    return 0


def _day(text: str, today: datetime.date) -> int:
    try:
        day = datetime.date.fromisoformat(text[:10])
    except ValueError:
        raise ValueError(f"{text!r} is no date; write it as 2026-01-31") from None
    if day > today:
        raise ValueError(f"{day} is after today, {today}; a record tells what was measured")
    return to_day(day)


def _number(delimiter: str) -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            return float(text.replace(",", ".") if delimiter == ";" else text)
        except ValueError:
            raise ValueError(f"{text!r} is no number; leave the row out") from None

    return read
