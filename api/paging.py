"""Keyset paging: a page begins after the last row of the one before, whatever was added since.

Rows are compared as a whole, `(a, b, id) > (x, y, z)`, which an index on those columns answers in
the same time for any page; the usual `a > x OR (a = x AND …)` does not, and an offset reads all it
skips. Each order ends with a unique key, or rows that share the last one would be lost.
"""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast
from urllib.parse import urlencode

from django.core import signing
from django.core.exceptions import ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import F, Field, Model
from django.db.models.fields.tuple_lookups import Tuple, TupleGreaterThan, TupleLessThan
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response

from api.problems import Refusal, query_refusal

PARAMETERS = ("limit", "cursor")
DEFAULT_LIMIT, MAX_LIMIT = 50, 200

Row = dict[str, Any]


class _Json:
    """How `signing` writes a cursor; days and identifiers as text."""

    dumps = staticmethod(lambda obj: DjangoJSONEncoder(separators=(",", ":")).encode(obj).encode())
    loads = staticmethod(signing.JSONSerializer().loads)


@dataclass(frozen=True)
class _Cursor:
    """A place in a list: the key of a row, and whether the page lies before or after it."""

    backwards: bool
    key: tuple[Any, ...]


class KeysetPagination(BasePagination):
    """Pages over `.values()` rows; the view names the order, ascending, its last column unique."""

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        self.request = request
        self.order: Sequence[str] = view.get_ordering()
        limit, cursor = limit_asked(request), self._read_cursor(queryset.model)
        backwards = cursor is not None and cursor.backwards
        queryset = queryset.annotate(**{f"_key{n}": F(name) for n, name in enumerate(self.order)})
        if cursor:
            lookup = TupleLessThan if backwards else TupleGreaterThan
            queryset = queryset.filter(lookup(Tuple(*map(F, self.order)), cursor.key))
        order = [f"-{name}" if backwards else name for name in self.order]
        found = list(queryset.order_by(*order)[: limit + 1])
        more, found = len(found) > limit, found[:limit]
        if backwards:
            found.reverse()
        keys = [tuple(row.pop(f"_key{n}") for n in range(len(self.order))) for row in found]
        self._neighbours(keys, more, cursor)
        return found

    def _neighbours(self, keys: list[tuple[Any, ...]], more: bool, cursor: _Cursor | None) -> None:
        backwards = cursor is not None and cursor.backwards
        before = more if backwards else cursor is not None
        after = backwards or more
        self.next = self._address(_Cursor(False, keys[-1])) if keys and after else None
        self.prev = self._address(_Cursor(True, keys[0])) if keys and before else None

    def get_paginated_response(self, data: list[Row]) -> Response:
        links = {"next": self.next, "prev": self.prev, "first": self._address(None)}
        link = ", ".join(f'<{address}>; rel="{rel}"' for rel, address in links.items() if address)
        return Response({"items": data, "next": self.next}, headers={"Link": link})

    @functools.cached_property
    def _query(self) -> list[tuple[str, str]]:
        """Return what narrows the list: a cursor is good for this and nothing else."""
        given = self.request.query_params
        return sorted((key, each) for key in given for each in given.getlist(key))

    @functools.cached_property
    def _signer(self) -> signing.Signer:
        narrowed = urlencode([pair for pair in self._query if pair[0] not in PARAMETERS])
        return signing.Signer(salt=f"api.paging:{self.request.path}?{narrowed}:{self.order}")

    def _address(self, cursor: _Cursor | None) -> str:
        query = [pair for pair in self._query if pair[0] != "cursor"]
        if cursor:
            place = [int(cursor.backwards), *cursor.key]
            query.append(("cursor", self._signer.sign_object(place, serializer=_Json)))
        path = self.request.path + (f"?{urlencode(query)}" if query else "")
        return self.request.build_absolute_uri(path)

    def _read_cursor(self, model: type[Model]) -> _Cursor | None:
        text = self.request.query_params.get("cursor")
        if text is None:
            return None
        try:
            backwards, *key = self._signer.unsign_object(text, serializer=_Json)
            columns = [cast("Field[Any, Any]", model._meta.get_field(name)) for name in self.order]
            values = [column.to_python(value) for column, value in zip(columns, key, strict=True)]
        except (signing.BadSignature, ValueError, ValidationError) as wrong:
            raise Refusal("invalid-cursor", "The cursor was made for another list.") from wrong
        return _Cursor(bool(backwards), tuple(values))

    def get_paginated_response_schema(self, schema: Mapping[str, Any]) -> dict[str, Any]:
        return {
            "type": "object",
            "required": ["items", "next"],
            "additionalProperties": False,
            "properties": {
                "items": schema,
                "next": {
                    "type": ["string", "null"],
                    "format": "uri",
                    "example": None,
                    "description": "Address of the next page; null on the last.",
                },
            },
        }

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        return [
            {
                "name": "limit",
                "in": "query",
                "description": "How many items a page holds.",
                "schema": {
                    "type": "integer",
                    "minimum": 1,
                    "maximum": MAX_LIMIT,
                    "default": DEFAULT_LIMIT,
                },
            },
            {
                "name": "cursor",
                "in": "query",
                "description": "Where the page begins, as the address of another page gives it.",
                "schema": {"type": "string"},
            },
        ]


def limit_asked(request: Request) -> int:
    """Return how many items a page is to hold, or refuse the number that was given."""
    text = request.query_params.get("limit", str(DEFAULT_LIMIT))
    if not (text.isascii() and text.isdecimal() and len(text) <= 6 and 1 <= int(text) <= MAX_LIMIT):
        raise query_refusal({"limit": f"{text[:60]!r} is no number from 1 to {MAX_LIMIT}."})
    return int(text)
