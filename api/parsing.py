"""JSON in: stricter than the library's own, which keeps the last of two equal keys."""

import json
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import IO, Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ParseError(f"The key {key!r} comes twice in one object; keep one of the two.")
        found[key] = value
    return found


def _no_constant(name: str) -> Any:
    raise ParseError(f"{name} is no number in JSON; leave the key out where no number is known.")


#: More than any figure of any noun has, and than Python reads under its strictest setting.
_MOST_DIGITS = 400
_LONGEST_SHOWN = 40


def _whole(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ParseError(f"The number {_shown(digits)} has more digits than any figure taken here.")
    return int(digits)


def _fraction(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:  # an exponent that no Decimal holds
        raise ParseError(f"The number {_shown(text)} is out of all proportion.") from None


def _shown(number: str) -> str:
    return number if len(number) <= _LONGEST_SHOWN else f"{number[:_LONGEST_SHOWN]}…"


def _read(stream: IO[bytes]) -> bytes:
    # A parser reads the stream itself, past Django's own limit on the size of a body.
    limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    body = stream.read(limit + 1)
    if len(body) > limit:
        raise RequestDataTooBig
    return body


class StrictJSONParser(BaseParser):
    """Reads UTF-8 JSON, numbers as exact decimals, and refuses a key that comes twice."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        try:
            return json.loads(
                _read(stream).decode("utf-8"),
                parse_int=_whole,
                parse_float=_fraction,
                parse_constant=_no_constant,
                object_pairs_hook=_no_key_twice,
            )
        except UnicodeDecodeError as wrong:
            raise ParseError(f"The body is not UTF-8 at byte {wrong.start}.") from wrong
        except RecursionError as wrong:
            raise ParseError("The body is nested too deeply.") from wrong
        except ValueError as wrong:
            raise ParseError(f"The body is not JSON: {wrong}.") from wrong
