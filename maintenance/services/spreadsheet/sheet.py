"""A sheet of either form as numbered rows under our own columns."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.conf import settings

from maintenance.services.checks.figures import text_problems
from maintenance.services.refusals import Problem
from maintenance.services.spreadsheet.cells import DATE_ORDERS
from maintenance.services.spreadsheet.csv_rows import MOST_COLUMNS, csv_rows
from maintenance.services.spreadsheet.headings import Matched, match_headings
from maintenance.services.spreadsheet.places import in_row, refused
from maintenance.services.spreadsheet.workbook import FORMULA, workbook_rows

_ARCHIVE = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, kw_only=True)
class SheetOptions:
    """What people say of their sheet: headings, the order of dates, encoding, odometer unit."""

    columns: Mapping[str, str] = field(default_factory=dict)
    date_order: str | None = None
    encoding: str | None = None
    odometer_unit: str | None = None


@dataclass(frozen=True)
class Sheet:
    """The headings of a sheet as they were matched, and its rows, to be read once."""

    matched: Matched
    rows: Iterator[tuple[int, dict[str, str]]]


def open_sheet(raw: bytes, options: SheetOptions) -> Sheet:
    """Read the headings of a sheet; its rows are read as they are asked for.

    The form is told by the content: an archive is XLSX, anything else CSV. Refused: a file of
    more than SPREADSHEET_FILE_LIMIT bytes or, as they are read, of more than
    SPREADSHEET_ROW_LIMIT rows; and what the two forms refuse.
    """
    limit = settings.SPREADSHEET_FILE_LIMIT
    if len(raw) > limit:
        raise refused(
            f"the file has more than the {limit / 1024 / 1024:.1f} MiB taken in one go; split it, "
            "or raise SPREADSHEET_FILE_LIMIT"
        )
    if options.date_order not in (None, *DATE_ORDERS):
        raise refused(f"{options.date_order!r} is no order of dates; say dmy, mdy or ymd")
    day_columns: set[int] = set()
    rows = _rows(raw, options, day_columns)
    headings = [heading.strip() for heading in next(rows, [])]
    if not any(headings):
        raise refused("the first row is empty; it must hold the headings of the columns")
    if any(headings[MOST_COLUMNS:]):
        raise refused(f"the sheet has more than the {MOST_COLUMNS} columns taken")
    for heading in headings:
        # Headings are kept with the import, where the database takes them for text.
        for problem in text_problems("/headings", heading):
            raise refused(f"the heading {heading[:40]!r} {problem.message}")
    matched = match_headings(headings[:MOST_COLUMNS], options.columns)
    day_columns.add(matched.places["on"])
    return Sheet(matched, _numbered(rows, matched))


def _rows(raw: bytes, options: SheetOptions, day_columns: set[int]) -> Iterator[list[str]]:
    if raw.startswith(_OLD_WORKBOOK):
        raise refused(
            "the file is an older .xls workbook, or one with a password; save it as .xlsx without "
            "one, or as CSV"
        )
    if raw.startswith(_ARCHIVE):
        return workbook_rows(raw, day_columns=day_columns)
    return csv_rows(raw, encoding=options.encoding)


def _numbered(rows: Iterator[list[str]], matched: Matched) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield rows with the number that a spreadsheet program shows; empty ones are passed over."""
    limit = settings.SPREADSHEET_ROW_LIMIT
    taken = 0
    for number, cells in enumerate(rows, start=2):
        if not cells:
            continue
        given = {
            column: cells[place] if place < len(cells) else ""
            for column, place in matched.places.items()
        }
        if not any(text.strip() for text in given.values()):
            continue
        taken += 1
        if taken > limit:
            raise refused(
                f"the sheet has more than the {limit} rows taken in one go; split it, or raise "
                "SPREADSHEET_ROW_LIMIT"
            )
        yield number, given


def formulas(row: int, given: dict[str, str]) -> list[Problem]:
    """Take formulas out of a row and refuse each: what it last came to may be old or absent."""
    found = [column for column, text in given.items() if text == FORMULA]
    for column in found:
        del given[column]
    text = "holds a formula; copy the column and paste it as values"
    return [in_row(row, column, text) for column in found]
