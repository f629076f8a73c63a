"""Rows in the shape of a serializer, read as plain values.

The serializer describes a noun once: it checks what comes in and names what goes out. Building
model instances only to take them apart again costs four times the query, so a list reads the
columns that the serializer names and nothing else.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db.models import F, QuerySet
from rest_framework import serializers

Row = dict[str, Any]


@dataclass(frozen=True)
class Shape:
    """Where each member of an answer comes from.

    A member is a column, or another shape for an object within the object. Lists of objects are
    left to the resource, which reads them for a whole page in one query.
    """

    members: tuple[tuple[str, "str | Shape"], ...]
    optional: bool = False

    def columns(self) -> dict[str, F]:
        """Return the columns to select, under aliases that no model field can have."""
        found: dict[str, F] = {}
        for _, where in self.members:
            if isinstance(where, Shape):
                found.update(where.columns())
            else:
                found[f"_{where}"] = F(where)
        return found

    def read(self, queryset: QuerySet[Any]) -> QuerySet[Any, Row]:
        return queryset.values(**self.columns())

    def shaped(self, row: Row) -> Row | None:
        """Return a row read by `read` as the answer shows it; an absent optional object as null."""
        shown: Row = {}
        for name, where in self.members:
            shown[name] = where.shaped(row) if isinstance(where, Shape) else row[f"_{where}"]
        if self.optional and next(iter(shown.values())) in (None, ""):
            return None
        return shown


@cache
def shape_of(serializer_class: type[serializers.BaseSerializer[Any]]) -> Shape:
    """Return the shape of a serializer's answers; read once for each class."""
    return _shape(serializer_class(), "")


def _shape(serializer: Any, path: str) -> Shape:
    members: list[tuple[str, str | Shape]] = []
    for name, field in serializer.fields.items():
        if field.write_only or isinstance(field, serializers.ListSerializer):
            continue
        if isinstance(field, serializers.Serializer):
            inner = path if field.source == "*" else f"{path}{field.source}__"
            members.append((name, _shape(field, inner)))
        elif field.source != "*":
            members.append((name, path + field.source.replace(".", "__")))
    return Shape(tuple(members), optional=serializer.allow_null)
