"""Rows of one visit put together to a service event, and events taken apart to rows."""

import dataclasses
import functools
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from maintenance.catalogue.load import catalogue
from maintenance.services.drafts import (
    Destination,
    EntryDraft,
    MeasurementDraft,
    Place,
    ServiceEventDraft,
)

#: A visit of more rows is written as several events.
MOST_ENTRIES: Final = 1_000


@dataclass(frozen=True, kw_only=True)
class SheetEntry:
    """What a row says: equal ones are the same entry of the same visit.

    The currency belongs to the price and says nothing without one. `visit` tells visits of one
    day, reading and workshop apart; it is the sheet's own and not kept.
    """

    on: str
    odometer: Decimal | None
    done_by: str
    currency: str
    entry: EntryDraft
    visit: str = field(default="", compare=False)

    @property
    def of_visit(self) -> tuple[str, Decimal | None, str, str]:
        """Return what rows of one visit have in common."""
        return self.on, self.odometer, self.done_by, self.visit


@dataclass
class Visit:
    """A service event in the making, with the row of each of its entries."""

    draft: ServiceEventDraft
    rows: list[int] = field(default_factory=list)
    entries: dict[EntryDraft, None] = field(default_factory=dict)
    currency: str = ""

    def takes(self, row: SheetEntry) -> bool:
        """Say whether a row can belong: not twice the same, and of one currency."""
        return (
            row.entry not in self.entries
            and len(self.entries) < MOST_ENTRIES
            and ("" in (row.currency, self.currency) or row.currency == self.currency)
        )

    def add(self, number: int, row: SheetEntry) -> None:
        self.rows.append(number)
        self.entries[row.entry] = None
        self.currency = self.currency or row.currency

    def event(self) -> ServiceEventDraft:
        return dataclasses.replace(self.draft, entries=tuple(self.entries), currency=self.currency)


def entry_of(cells: Mapping[str, str]) -> SheetEntry:
    """Return what a row says, its cells as `cells.read_cells` leaves them."""

    def text(column: str) -> str:
        return cells.get(column, "")

    price = _number(text("price"))
    value = _number(text("value"))
    entry = EntryDraft(
        place=Place(text("component"), text("position")),
        action=text("action"),
        part_number=text("part_number"),
        supplier=text("supplier"),
        price=price,
        measurement=None
        if value is None
        else MeasurementDraft(quantity=text("quantity"), value=value, unit=text("unit")),
        note=text("note"),
        to=_destination(text("to"), text("to_vehicle"), text("component")),
    )
    return SheetEntry(
        on=text("on"),
        odometer=_number(text("odometer")),
        done_by=text("done_by"),
        currency=text("currency") if price is not None else "",
        entry=entry,
        visit=text("visit"),
    )


def _destination(to: str, vehicle: str, kind: str) -> Destination | None:
    """Return where a part of a kind goes: to a place written whole, or by its position alone."""
    if not to and not vehicle:
        return None
    begun = _begins_with(kind).match(to) if kind in catalogue().kinds else None
    return Destination(to[begun.end() :] if begun else to, vehicle)


@functools.cache
def _begins_with(kind: str) -> re.Pattern[str]:
    """Match the name of a kind, as people write it, before a position or nothing."""
    words = r"[\s_\-]+".join(map(re.escape, kind.split("-")))
    return re.compile(rf"{words}(?:\s+|$)", re.IGNORECASE)


def cells_of(row: SheetEntry) -> dict[str, str]:
    """Return the cells of a row, but for the car."""
    entry, measured, to = row.entry, row.entry.measurement, row.entry.to
    return {
        "on": row.on,
        "visit": row.visit,
        "odometer": _written(row.odometer),
        "component": entry.place.kind,
        "position": entry.place.position,
        "action": entry.action,
        # Whole: the position alone may be empty, which would say that it went nowhere.
        "to": str(Place(entry.place.kind, to.position)) if to else "",
        "to_vehicle": to.vehicle if to else "",
        "quantity": measured.quantity if measured else "",
        "value": _written(measured.value) if measured else "",
        "unit": measured.unit if measured else "",
        "part_number": entry.part_number,
        "supplier": entry.supplier,
        "price": _written(entry.price),
        "currency": row.currency,
        "done_by": row.done_by,
        "note": entry.note,
    }


def entries_of(events: Iterable[ServiceEventDraft]) -> Iterator[SheetEntry]:
    """Take events apart to rows; what has no column (cost, date code and so on) is left out."""
    for event in events:
        for entry in event.entries:
            yield SheetEntry(
                on=event.on,
                odometer=event.odometer,
                done_by=event.done_by,
                currency=event.currency if entry.price is not None else "",
                entry=dataclasses.replace(entry, manufactured="", date_code="", carried_over=()),
            )


def numbered_entries(events: Iterable[ServiceEventDraft]) -> Iterator[list[SheetEntry]]:
    """Yield the rows of each event of a car, numbered where two visits would be taken for one."""
    times: Counter[object] = Counter()
    for event in events:
        rows = list(entries_of([event]))
        numbered = []
        # Rows that say the same without what has no column come back as two visits.
        for visit in visits(enumerate(rows)):
            of_visit = rows[visit.rows[0]].of_visit
            times[of_visit] += 1
            time = str(times[of_visit]) if times[of_visit] > 1 else ""
            numbered += [dataclasses.replace(rows[place], visit=time) for place in visit.rows]
        yield numbered


def visits(rows: Iterable[tuple[int, SheetEntry]]) -> list[Visit]:
    """Put rows of the same day, odometer reading, workshop and visit together, in their order.

    Two rows that say the same, or prices in two currencies, make two visits of that day. Visits
    stand in the order of their first rows.
    """
    given = list(rows)
    moving = {row.of_visit for _, row in given if row.entry.to is not None}
    found: dict[object, list[Visit]] = {}
    for number, row in given:
        of_key = found.setdefault(row.of_visit, [])
        # Where parts move it counts what was done before and what after, so no row goes back to
        # a visit before the last.
        open_ones = of_key[-1:] if row.of_visit in moving else of_key
        visit = next((visit for visit in open_ones if visit.takes(row)), None)
        if visit is None:
            visit = Visit(ServiceEventDraft(on=row.on, odometer=row.odometer, done_by=row.done_by))
            of_key.append(visit)
        visit.add(number, row)
    made = [visit for of_key in found.values() for visit in of_key]
    return sorted(made, key=lambda visit: visit.rows[0])


def _number(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def _written(value: Decimal | None) -> str:
    """Return a number without the zeros that fill up a column."""
    if value is None:
        return ""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
