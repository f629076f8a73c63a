"""Rows of cells of a CSV file, whatever it is separated by, in an encoding that is certain."""

import codecs
import csv
import io
import re
from collections.abc import Iterator
from typing import Final

from maintenance.services.spreadsheet.cells import plain
from maintenance.services.spreadsheet.places import refused

#: Encodings that are read only where they are stated: any file could be meant so.
STATED: Final = ("windows-1252",)
DELIMITERS: Final = (",", ";", "\t")
#: More columns than any list of work has; a heading beyond is a file of something else.
MOST_COLUMNS: Final = 100
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_CHARACTER_OF_SEVERAL: Final = re.compile(rb"[\xc2-\xf4][\x80-\xbf]")
_QUOTED: Final = re.compile(r'"[^"]*"')
_LONGEST_HEADING_LINE: Final = 100_000


def csv_rows(raw: bytes, *, encoding: str | None) -> Iterator[list[str]]:
    """Yield the rows of a CSV file, the headings first.

    UTF-8, or UTF-16 with its byte order mark; Windows-1252 where `encoding` states it. The
    delimiter is the one of comma, semicolon and tab that the first line has most of.

    Refused: bytes that are no text of the encoding, two encodings in one file, quotes that do not
    close.
    """
    text = _decoded(raw, encoding)
    if "\0" in text:
        raise refused("the file holds NUL characters: it is no CSV, or UTF-16 without its mark")
    # A note may be longer than the library's own limit; the file as a whole is limited already.
    csv.field_size_limit(max(csv.field_size_limit(), len(text) + 1))
    stream = io.StringIO(text, newline="")
    del text
    delimiter = _delimiter(stream.readline(_LONGEST_HEADING_LINE))
    stream.seek(0)
    reader = csv.reader(stream, delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            yield [plain(cell) for cell in cells]
    except csv.Error as wrong:
        raise refused(
            f"the file is no CSV: {wrong}, near line {reader.line_num}; check the quotes there"
        ) from wrong


def _decoded(raw: bytes, encoding: str | None) -> str:
    for mark, marked in _MARKS:
        if raw.startswith(mark):
            return _text(raw[len(mark) :], marked, encoding)
    if encoding is not None:
        _refuse_other_encoding(raw, encoding)
        return _text(raw, encoding, None)
    return _text(raw, "utf-8", None)


def _text(raw: bytes, encoding: str, stated: str | None) -> str:
    if stated is not None:
        raise refused(f"the file begins with the mark of {encoding} and is stated as {stated}")
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        mixed = encoding == "utf-8" and _CHARACTER_OF_SEVERAL.search(raw) is not None
        raise refused(
            f"the file is not {encoding.upper()}: byte {wrong.start} (line {line}) is no character "
            f"of it{', though others before or after are: it mixes encodings' * mixed}; save it as "
            f"UTF-8{', or state the encoding windows-1252' * (encoding == 'utf-8' and not mixed)}"
        ) from wrong


def _refuse_other_encoding(raw: bytes, encoding: str) -> None:
    """Refuse UTF-8 stated as something else: every letter beyond ASCII would be two wrong ones."""
    if encoding not in STATED:
        raise refused(f"the encoding {encoding!r} is not read; save the file as UTF-8")
    found = _CHARACTER_OF_SEVERAL.search(raw)
    if found is None:
        return
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return
    line = raw.count(b"\n", 0, found.start()) + 1
    raise refused(
        f"the file is stated as {encoding}, but line {line} is UTF-8; leave the encoding out"
    )


def _delimiter(line: str) -> str:
    bare = _QUOTED.sub("", line)
    return max(DELIMITERS, key=bare.count)
