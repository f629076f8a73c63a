"""Bytes that should be a history file, as a tree of plain values.

What would be lost or misread on the way is refused here: keys that stand twice, NaN, numbers out
of all proportion, text that is not UTF-8, nesting that no history file needs.
"""

import json
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import Any

from maintenance.services.refusals import Problem, Refused, refuse_if_any

_MIB = 1024 * 1024
#: The format itself needs 8.
_DEEPEST = 20
#: Digits before and after the point; beyond them a number is no odometer, price or thickness.
_MOST_DIGITS = 15
_LONGEST_SHOWN = 40


class _Object(dict[str, Any]):
    """A JSON object that remembers which of its keys stood twice."""

    twice: tuple[str, ...] = ()


class _NoNumber:
    """What some programs write for a number and is none: NaN, Infinity, an endless exponent."""

    def __init__(self, text: str) -> None:
        self.text = text


def read_document(raw: bytes, *, limit: int) -> dict[str, Any]:
    """Return the tree of a history file of at most `limit` bytes.

    Numbers come as `int` or `Decimal`, exactly as written. Refused, with a pointer where there
    is one: a file that is too large, not UTF-8 (a byte order mark is let pass), not JSON, not an
    object, or nested too deep; keys that stand twice, NaN and Infinity, numbers of absurd size.
    """
    tree, oddities = read_with_oddities(raw, limit=limit)
    refuse_if_any(oddities)
    return tree


def read_with_oddities(raw: bytes, *, limit: int) -> tuple[dict[str, Any], list[Problem]]:
    """Return the tree of a history file and what is odd in it, so that both can be told at once.

    Like `read_document`, but keys that stand twice, NaN and the like are listed and not refused;
    the tree has null in place of each value that can't be one. It is fit for being checked
    further, not for being imported.
    """
    if len(raw) > limit:
        raise _refused(
            f"the file has more than the {limit / _MIB:.1f} MiB taken in one go; split it by car, "
            "or raise HISTORY_FILE_LIMIT"
        )
    tree = _parsed(_decoded(raw))
    if not isinstance(tree, dict):
        raise _refused("a history file is a JSON object with the key 'vehicles'")
    oddities = list(_oddities(tree, "", 0))
    return (_without_odd_leaves(tree) if oddities else tree), oddities


def pointer_to(*steps: object) -> str:
    """Return the JSON pointer (RFC 6901) of a path."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


def _refused(message: str) -> Refused:
    return Refused([Problem("", message)])


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        raise _refused(
            f"the file is not UTF-8: byte {wrong.start} (line {line}) begins no character; "
            "save it as UTF-8"
        ) from wrong


def _parsed(text: str) -> Any:
    try:
        return json.loads(
            text,
            object_pairs_hook=_object,
            parse_int=_whole,
            parse_float=_fraction,
            parse_constant=_NoNumber,
        )
    except json.JSONDecodeError as wrong:
        raise _refused(
            f"the file is no JSON: {wrong.msg} at line {wrong.lineno}, column {wrong.colno}"
        ) from wrong
    except RecursionError as wrong:
        raise _refused(f"the file is nested deeper than the {_DEEPEST} levels taken") from wrong


def _object(pairs: list[tuple[str, Any]]) -> _Object:
    made = _Object(pairs)
    if len(made) < len(pairs):
        made.twice = tuple(key for key, times in Counter(k for k, _ in pairs).items() if times > 1)
    return made


def _whole(digits: str) -> int | Decimal:
    # Python refuses to read integers of thousands of digits; as a Decimal it is told apart below.
    return int(digits) if len(digits) <= _MOST_DIGITS + 1 else Decimal(digits)


def _fraction(digits: str) -> "Decimal | _NoNumber":
    try:
        return Decimal(digits)
    except InvalidOperation:  # an exponent that no Decimal holds
        return _NoNumber(digits if len(digits) <= _LONGEST_SHOWN else f"{digits[:_LONGEST_SHOWN]}…")


def _oddities(value: Any, pointer: str, depth: int) -> Iterator[Problem]:
    if depth > _DEEPEST:
        yield Problem(pointer, f"is nested deeper than the {_DEEPEST} levels taken")
    elif isinstance(value, _Object):
        for key in value.twice:
            yield Problem(pointer + pointer_to(key), "stands twice in its object; keep one of them")
        for key, member in value.items():
            if not _is_text(key):
                yield Problem(pointer, f"has the key {key!r}, which is no text; take it out")
            else:
                yield from _oddities(member, pointer + pointer_to(key), depth + 1)
    elif isinstance(value, list):
        for place, member in enumerate(value):
            yield from _oddities(member, f"{pointer}/{place}", depth + 1)
    else:
        yield from _odd_leaf(value, pointer)


def _odd_leaf(value: Any, pointer: str) -> Iterator[Problem]:
    if isinstance(value, _NoNumber):
        yield Problem(pointer, f"{value.text} is not a number; give one, or leave the key out")
    elif isinstance(value, str) and not _is_text(value):
        yield Problem(pointer, "holds a character that is no text; take it out")
    elif isinstance(value, Decimal) and not _is_of_this_world(value):
        yield Problem(pointer, f"{_shortened(value)} is not believable as a number; check it")


def _without_odd_leaves(value: Any, depth: int = 0) -> Any:
    if depth > _DEEPEST or (isinstance(value, _NoNumber | str | Decimal) and _is_odd(value)):
        return None
    if isinstance(value, dict):
        return {
            key: _without_odd_leaves(member, depth + 1)
            for key, member in value.items()
            if _is_text(key)
        }
    if isinstance(value, list):
        return [_without_odd_leaves(member, depth + 1) for member in value]
    return value


def _is_odd(leaf: Any) -> bool:
    return any(_odd_leaf(leaf, ""))


def _is_text(value: str) -> bool:
    """Say whether a string can be stored: no NUL, no half of a surrogate pair."""
    return "\0" not in value and not any("\ud800" <= sign <= "\udfff" for sign in value)


def _is_of_this_world(value: Decimal) -> bool:
    exponent = value.as_tuple().exponent
    return (
        isinstance(exponent, int)
        and exponent >= -_MOST_DIGITS
        and (not value or value.adjusted() < _MOST_DIGITS)
    )


def _shortened(value: Decimal) -> str:
    text = str(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"
