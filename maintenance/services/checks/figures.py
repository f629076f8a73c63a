"""Numbers and texts: finite, not negative, not absurd, not longer than their column."""

import unicodedata
from collections.abc import Iterator
from decimal import Decimal

from maintenance.services.refusals import Problem

#: More than any car, part or visit to a workshop has cost, in any currency.
MOST_MONEY = Decimal(1_000_000_000)
#: Texts of so many characters or fewer stand on one line.
ONE_LINE = 120
_LONGEST_SHOWN = 40


def number_problems(
    pointer: str, value: Decimal | None, *, decimals: int, below: Decimal, unit: str
) -> Iterator[Problem]:
    """Tell what is wrong with a number that may be absent; `below` is the least that is absurd."""
    if value is None:
        return
    if not value.is_finite():
        yield Problem(pointer, f"{value} is not a number; give a plain number of {unit}")
    elif value < 0:
        yield Problem(pointer, f"{shown(value)} is negative; give 0 or more {unit}")
    elif value >= below:
        yield Problem(pointer, f"{shown(value)} is not believable; give less than {below:f} {unit}")
    elif value != round(value, decimals):
        yield Problem(
            pointer, f"{shown(value)} has more than the {decimals} decimals kept; round it"
        )


def money_problems(pointer: str, value: Decimal | None) -> Iterator[Problem]:
    """Tell what is wrong with an amount of money that may be absent."""
    unit = "units of the currency"
    yield from number_problems(pointer, value, decimals=2, below=MOST_MONEY, unit=unit)


def odometer_problems(
    pointer: str, value: Decimal | None, *, digits: int, unit: str
) -> Iterator[Problem]:
    """Tell what is wrong with a reading by itself, on an instrument of so many digits."""
    if value is not None and value.is_finite() and value >= 10**digits:
        yield Problem(
            pointer,
            f"{shown(value)} {unit} cannot stand on an odometer of {digits} digits; "
            "check the reading, or the car's odometer_digits",
        )
        return
    yield from number_problems(pointer, value, decimals=1, below=Decimal(10) ** digits, unit=unit)


def text_problems(
    pointer: str, text: str, *, longest: int | None = None, required: bool = False
) -> Iterator[Problem]:
    """Tell what is wrong with a text; NUL and lone surrogates cannot be stored.

    One of `ONE_LINE` characters or fewer is a name, a number or a mark and stands on one line: in
    a calendar or the head of a mail a line break would begin a line of its own.
    """
    if required and not text.strip():
        yield Problem(pointer, "is missing")
    elif longest is not None and len(text) > longest:
        yield Problem(pointer, f"has {len(text)} characters; shorten it to {longest}")
    elif any(character == "\0" or "\ud800" <= character <= "\udfff" for character in text):
        yield Problem(pointer, "holds a character that is no text; take it out")
    elif longest is not None and longest <= ONE_LINE and any(map(_breaks_a_line, text)):
        yield Problem(pointer, "holds a line break, tab or other control character; take it out")


def _breaks_a_line(character: str) -> bool:
    return unicodedata.category(character) in ("Cc", "Zl", "Zp")


def shown(value: Decimal) -> str:
    """Return a number as written, without the zeros that fill up a column."""
    text = f"{value.normalize():f}" if abs(value.adjusted()) < _LONGEST_SHOWN else str(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"
