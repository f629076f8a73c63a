"""Export entries as a sheet, one a row, that imports to equal entries."""

import csv
import datetime
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import IO, Any, Final

from django.db.models import QuerySet
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from maintenance.models import Vehicle
from maintenance.queries.moves import in_chunks, linked_groups, links_within
from maintenance.services.history_file.stored import CHUNK, StoredCar, stored_cars
from maintenance.services.refusals import Refused, refuse_if_any
from maintenance.services.spreadsheet.cells import harmless
from maintenance.services.spreadsheet.ooxml_text import escaped
from maintenance.services.spreadsheet.places import COLUMNS, in_row
from maintenance.services.spreadsheet.visits import cells_of, numbered_entries

Row = Mapping[str, str]
_NUMBERS: Final = frozenset(("odometer", "value", "price"))
#: A sheet has no more rows, and no more characters in a cell: the library would cut them off.
_MOST_ROWS: Final = 1_048_576
_LONGEST_CELL: Final = 32_767


def exported_rows(vehicles: QuerySet[Vehicle]) -> Iterator[Row]:
    """Yield the entries in force of some cars of one collection, a few hundred cars at a time.

    By car, and of each as recorded: which of two deeds of one day came first can decide what it
    came to. For the same reason cars that exchanged parts stand together, by day. What has no
    column is left out: the history file holds everything.
    """
    cars = vehicles.order_by("registration", "pk")
    known = dict(cars.values_list("pk", "collection"))
    groups = linked_groups(known, links_within(known.values()))
    for chunk in in_chunks(groups, CHUNK):
        wanted = cars.filter(pk__in=[pk for group in chunk for pk in group])
        stored = {car.row.pk: car for car in stored_cars(wanted)}
        for group in chunk:
            yield from _rows([stored[pk] for pk in group if pk in stored])


def _rows(cars: Sequence[StoredCar]) -> Iterator[Row]:
    """Yield the entries of some cars in the order in which they count."""
    found = []
    for car in cars:
        mark = car.row.registration
        events = numbered_entries(car.contents.service_events)
        for turn, entries in zip(car.turns, events, strict=True):
            found.append((turn, [{"registration": mark, **cells_of(row)} for row in entries]))
    for _, rows in sorted(found, key=lambda pair: pair[0]):
        yield from rows


def write_csv(rows: Iterable[Row], stream: IO[bytes]) -> int:
    """Write rows as CSV (RFC 4180) in UTF-8; return how many.

    With a byte order mark, without which spreadsheet programs take it for another encoding. What
    such a program would run as a formula gets an apostrophe, which the import takes off again.
    """
    text = io.TextIOWrapper(stream, encoding="utf-8-sig", newline="", write_through=True)
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    count = 0
    for row in rows:
        count += 1
        writer.writerow(
            row[column] if column in _NUMBERS else harmless(row[column]) for column in COLUMNS
        )
    text.detach()
    return count


def write_xlsx(rows: Iterable[Row], stream: IO[bytes]) -> int:
    """Write rows as an XLSX workbook of one sheet; return how many.

    Refused: more rows than a sheet can have, and a text longer than a cell can hold, which the
    CSV form takes.
    """
    book = Workbook(write_only=True)
    sheet = book.create_sheet("entries")
    sheet.append(COLUMNS)
    count = 0
    try:
        for row in rows:
            count += 1
            sheet.append(_cells(sheet, count + 1, row))
    except Refused:
        # The library writes to a temporary file, which would stay open.
        sheet.close()
        raise
    book.save(stream)
    return count


def _cells(sheet: Any, number: int, row: Row) -> list[Any]:
    if number > _MOST_ROWS:
        refuse_if_any([in_row(number, "", "a sheet has no such row; export as CSV")])
    return [_cell(sheet, number, column, row[column]) for column in COLUMNS]


def _cell(sheet: Any, number: int, column: str, text: str) -> Any:
    if not text:
        return None
    if column in _NUMBERS:
        # At most 12 digits are stored, and a double prints each of them as it was.
        return int(text) if text.lstrip("-").isdigit() else float(text)
    if column == "on" and len(text) == len("2019-05-01"):
        return datetime.date.fromisoformat(text)
    kept = escaped(text)
    if len(kept) > _LONGEST_CELL:
        refuse_if_any([in_row(number, column, "is too long for a cell; export as CSV")])
    cell = WriteOnlyCell(sheet, kept)
    # Otherwise a text that begins with an equals sign would become a formula.
    cell.data_type = "s"
    return cell


WRITERS: Final[Mapping[str, Callable[[Iterable[Row], IO[bytes]], int]]] = {
    "csv": write_csv,
    "xlsx": write_xlsx,
}
"""The forms of a sheet, by the ending of its name."""
