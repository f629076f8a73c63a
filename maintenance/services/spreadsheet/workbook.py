"""Rows of cells of an XLSX workbook, whose archive and XML are tried before they are trusted."""

import datetime
import io
import math
import re
import zipfile
from collections.abc import Iterator
from typing import IO, Any, Final
from xml.parsers import expat

import openpyxl
from openpyxl.utils.datetime import from_excel

from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.csv_rows import MOST_COLUMNS
from maintenance.services.spreadsheet.ooxml_text import unescaped
from maintenance.services.spreadsheet.places import refused

#: How large the parts may be once unpacked [bytes]. A sheet of 100 000 rows has about 60 MiB.
MOST_UNPACKED: Final = 160 * 1024 * 1024
MOST_OF_A_PART: Final = {"sheet": MOST_UNPACKED, "sharedStrings": 48 * 1024 * 1024}
MOST_OF_OTHER_PARTS: Final = 4 * 1024 * 1024
#: How often smaller than its contents an archive may be; sheets reach about 30.
HIGHEST_RATIO: Final = 100
_TOO_SMALL_FOR_A_BOMB: Final = 4 * 1024 * 1024
MOST_PARTS: Final = 1_000
#: A sheet has no more. Without the limit one row that says it is the billionth would fill up to it.
MOST_ROWS: Final = 1_048_576
#: Whole numbers in the column of days that are years; as serial dates they lie about 1905.
_YEARS: Final = range(1880, 2200)
#: Seen where a formula was: its last result may be old or absent, so it is not read.
FORMULA: Final = "\0formula"
_PART: Final = re.compile(r"xl/(?:worksheets/)?(sheet|sharedStrings)[^/]*\.xml$")


def workbook_rows(raw: bytes, *, day_columns: set[int]) -> Iterator[list[str]]:
    """Yield the rows of the first sheet of a workbook, the headings first, every cell as text.

    Numbers in `day_columns`, which may be filled once the headings are known, are serial dates.

    Refused, before anything is unpacked into memory: what is no archive, an archive that unpacks
    to far more than its size or than `MOST_UNPACKED`, XML with a document type (and so with
    entities), passwords. A sheet is then read row by row.
    """
    try_archive(raw)
    try:
        book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, keep_links=False)
        sheet = book.worksheets[0]
        # What a sheet says of its own size may be wrong either way.
        sheet.reset_dimensions()
        last: object = None
        for number, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS + 1), start=1):
            if number > MOST_ROWS:
                raise refused(f"the sheet has a row {number}, more than a sheet can have")
            # The library fills a gap between rows with one and the same tuple, up to a million
            # times.
            gap, last = cells is last, cells
            yield (
                []
                if gap
                else [
                    _text(cell, place in day_columns, book.epoch)
                    for place, cell in enumerate(cells)
                ]
            )
    except Refused:
        raise
    # The library meets a broken workbook with whatever its parts fail with.
    except Exception as wrong:
        raise refused(
            f"the workbook can't be read ({type(wrong).__name__}); open it in a spreadsheet "
            "program, save it anew, or save the sheet as CSV"
        ) from wrong


def try_archive(raw: bytes) -> None:
    """Refuse an archive that would not unpack to a believable workbook."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            parts = archive.infolist()
            _try_sizes(parts, len(raw))
            for part in parts:
                if part.filename.lower().endswith((".xml", ".rels", ".vml")):
                    with archive.open(part) as stream:
                        _try_xml(part.filename, stream)
    except Refused:
        raise
    # zipfile itself fails in many ways on bytes that are no archive.
    except Exception as wrong:
        raise refused(
            f"the file is no XLSX workbook ({type(wrong).__name__}); older .xls files and "
            "workbooks with a password are not read: save it as .xlsx or CSV"
        ) from wrong


def _try_sizes(parts: list[zipfile.ZipInfo], packed: int) -> None:
    """The sizes stated bind: no more is unpacked of a part than it says it has."""
    if len(parts) > MOST_PARTS:
        raise refused(f"the workbook has {len(parts)} parts, more than the {MOST_PARTS} taken")
    total = sum(part.file_size for part in parts)
    if total > MOST_UNPACKED:
        raise refused(
            f"the workbook unpacks to {total // 1024 // 1024} MiB, more than the "
            f"{MOST_UNPACKED // 1024 // 1024} MiB taken; split it, or save the sheet as CSV"
        )
    if total > _TOO_SMALL_FOR_A_BOMB and total > HIGHEST_RATIO * packed:
        raise refused(
            f"the workbook unpacks to {total // packed} times its size, more than the "
            f"{HIGHEST_RATIO} times taken; save the sheet as CSV"
        )
    for part in parts:
        kind = _PART.search(part.filename)
        most = MOST_OF_A_PART[kind[1]] if kind else MOST_OF_OTHER_PARTS
        is_read = part.filename.lower().endswith((".xml", ".rels"))
        if is_read and part.file_size > most:
            raise refused(
                f"{part.filename} of the workbook has {part.file_size // 1024 // 1024} MiB, more "
                f"than the {most // 1024 // 1024} MiB taken; save the sheet as CSV"
            )


class _Begun(Exception):
    """The root element has come: no document type can follow."""


def _try_xml(name: str, stream: IO[bytes]) -> None:
    """Refuse a document type: it is where entities that grow or reach out are declared."""

    def doctype(*_: Any) -> None:
        raise refused(f"{name} of the workbook declares a document type, which no workbook needs")

    def begun(*_: Any) -> None:
        raise _Begun

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = doctype
    parser.StartElementHandler = begun
    try:
        parser.ParseFile(stream)
    except _Begun:
        return


def _text(cell: Any, is_day: bool, epoch: datetime.datetime) -> str:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return FORMULA
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, datetime.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        return str(value)
    if isinstance(value, int | float):
        return _number(value, is_day, epoch)
    return unescaped(str(value))


def _number(value: int | float, is_day: bool, epoch: datetime.datetime) -> str:
    if not math.isfinite(value):
        return repr(value)
    if is_day and value not in _YEARS:
        try:
            day = from_excel(value, epoch)
        except (ValueError, OverflowError):
            return repr(value)
        return day.isoformat(sep=" ") if isinstance(day, datetime.datetime) else repr(value)
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)
