"""What the cells of a row mean: days in whichever order, numbers as people write them."""

import datetime
import re
from collections.abc import Callable, Collection, Mapping, Set
from decimal import Decimal
from typing import Final

from maintenance.engine.columns import ACTIONS
from maintenance.engine.stated_days import read_day
from maintenance.services.refusals import Problem
from maintenance.services.spreadsheet.places import REQUIRED, in_row

DATE_ORDERS: Final = ("dmy", "mdy", "ymd")
_ISO: Final = re.compile(r"\d{4}(-\d{1,2}(-\d{1,2})?)?", re.ASCII)
_TIMELESS: Final = re.compile(r"[T ]00:00(:00(\.0+)?)?$", re.ASCII)
_THREE: Final = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})", re.ASCII)
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_COMMA: Final = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_GROUPED: Final = re.compile(r"[+-]?\d{1,3}([.,]\d{3})+", re.ASCII)
_LONGEST_NUMBER: Final = 40
_LONGEST_SHOWN: Final = 40
#: What a spreadsheet program shows in place of a value that it could not work out.
_ERRORS: Final = frozenset(
    ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!")
)
#: A cell that a spreadsheet program would take for a formula, however often it was made harmless.
_FORMULA: Final = re.compile(r"'*[=+\-@\t\r]")
_HARMLESS: Final = re.compile(r"'+[=+\-@\t\r]")


def harmless(text: str) -> str:
    """Return a text as it stands in CSV, an apostrophe before what would begin a formula.

    A file is opened by people whose program runs formulas, and the text came from anybody.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def plain(text: str) -> str:
    """Return the text of a cell of CSV, the apostrophe of `harmless` taken off."""
    return text[1:] if _HARMLESS.match(text) else text


def day_stated(text: str, order: str | None) -> str:
    """Return a day as ISO 8601 states it; a month or year where no more is given.

    Raises
    ------
    ValueError
        Says what is wrong and what to do: no day of the calendar, a year of two digits, and one
        that may be two days where no order is stated.
    """
    text = _TIMELESS.sub("", text.strip())
    if _ISO.fullmatch(text):
        iso = "-".join(part.zfill(2) for part in text.split("-"))
        read_day(iso)
        return iso
    parts = _THREE.fullmatch(text)
    if parts is None:
        raise ValueError(f"{_short(text)!r} is no date; write it as 2019-05-01")
    first, middle, last = parts[1], parts[3], parts[4]
    if len(first) == 4:
        return _day(text, first, middle, last)
    if len(last) != 4:
        raise ValueError(f"{text!r} has a year of {len(last)} digits; write all four")
    return _in_order(text, first, middle, last, order)


def _in_order(text: str, first: str, middle: str, year: str, order: str | None) -> str:
    if order == "dmy":
        return _day(text, year, middle, first, order)
    if order == "mdy":
        return _day(text, year, first, middle, order)
    if order == "ymd":
        raise ValueError(f"{text!r} does not begin with the year, as the order ymd says it does")
    if int(first) > 12 or first.zfill(2) == middle.zfill(2):
        return _day(text, year, middle, first)
    if int(middle) > 12:
        return _day(text, year, first, middle)
    raise ValueError(
        f"{text!r} may be {year}-{middle.zfill(2)}-{first.zfill(2)} or "
        f"{year}-{first.zfill(2)}-{middle.zfill(2)}; state the order of dates (dmy or mdy)"
    )


def _day(text: str, year: str, month: str, day: str, order: str | None = None) -> str:
    try:
        return datetime.date(int(year), int(month), int(day)).isoformat()
    except ValueError:
        stated = f" in the order {order}" if order else ""
        raise ValueError(f"{text!r} is no day of the calendar{stated}; check it") from None


def number(text: str, *, grouped: bool) -> Decimal:
    """Return a number; a comma may stand for the point.

    `grouped` says that figures of this column may run to thousands, so that 48.000 is refused as
    it may be 48 or 48 000.

    Raises
    ------
    ValueError
        Says what is wrong and what to do.
    """
    text = text.strip()
    if len(text) > _LONGEST_NUMBER:
        raise ValueError(f"{_short(text)!r} is not believable as a number; check it")
    if _GROUPED.fullmatch(text) and (grouped or "," in text):
        bare = re.sub("[.,]", "", text)
        raise ValueError(
            f"{text!r} may mean thousands or decimals; write it without separator, such as {bare}"
        )
    if _COMMA.fullmatch(text):
        text = text.replace(",", ".")
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{_short(text)!r} is not a number; write digits alone, the unit apart")
    found = Decimal(text)
    # Written out, an exponent of hundreds would be a text of hundreds of digits.
    if found and abs(found.adjusted()) > _LONGEST_NUMBER:
        raise ValueError(f"{_short(text)!r} is not believable as a number; check it")
    return found


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"


def _slug(text: str) -> str:
    return re.sub(r"[\s_]+", "-", text.strip().casefold())


def _word(text: str) -> str:
    return re.sub(r"[\s\-]+", "_", text.strip().casefold())


_READ: Final[Mapping[str, Callable[[str], str]]] = {
    "registration": str.strip,
    "visit": str.strip,
    "component": _slug,
    "position": str.strip,
    "action": _word,
    "to": str.strip,
    "to_vehicle": str.strip,
    "quantity": _word,
    "unit": str.strip,
    "currency": lambda text: text.strip().upper(),
    "odometer": lambda text: f"{number(text, grouped=True):f}" if text.strip() else "",
    "price": lambda text: f"{number(text, grouped=True):f}" if text.strip() else "",
    "value": lambda text: f"{number(text, grouped=False):f}" if text.strip() else "",
}


def read_cells(
    row: int, given: Mapping[str, str], order: str | None, unread: Collection[str] = ()
) -> tuple[dict[str, str], list[Problem]]:
    """Return the cells of a row in one manner of writing, and what is wrong with them.

    `unread` are columns of the row that were told of already: they are not empty.
    """
    cells: dict[str, str] = {}
    problems = []
    filled = set(unread)
    for column, text in given.items():
        try:
            if text.strip() in _ERRORS and (column in _READ or column == "on"):
                raise ValueError(f"holds the error {text.strip()}; put the value in its place")
            if column == "on" and text.strip():
                cells[column] = day_stated(text, order)
            else:
                cells[column] = _READ.get(column, str)(text)
        except ValueError as wrong:
            problems.append(in_row(row, column, str(wrong)))
            filled.add(column)
    filled |= {column for column, text in cells.items() if text}
    problems += _incomplete(row, cells, filled)
    problems += _wrongly_moved(row, cells, filled)
    return cells, problems


def _incomplete(row: int, cells: Mapping[str, str], filled: Set[str]) -> list[Problem]:
    problems = [
        in_row(row, column, "is empty; fill it in")
        for column in REQUIRED
        if cells.get(column) == ""
    ]
    measured = [column for column in ("quantity", "value", "unit") if column in filled]
    if measured:
        problems += [
            in_row(row, column, f"is empty, but {measured[0]} is given; fill in both, or neither")
            for column in ("quantity", "value", "unit")
            if column not in filled
        ]
    return problems


def _wrongly_moved(row: int, cells: Mapping[str, str], filled: Set[str]) -> list[Problem]:
    """Tell of a move that goes nowhere, and of a place to go to without a move."""
    action = cells.get("action", "")
    given = [column for column in ("to", "to_vehicle") if column in filled]
    if action == "move" and not given:
        text = (
            "is empty, but the action is move; say where the part went, such as 'tyre rear left', "
            "and in to_vehicle to which car if to another; what was taken off for good is the "
            "action remove"
        )
        return [in_row(row, "to", text)]
    if action == "move" or action not in ACTIONS:
        return []
    text = "is for the action move only; empty it, or make the action move"
    return [in_row(row, column, text) for column in given]
