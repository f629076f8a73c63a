"""Requests taken at their word: no key dropped in silence, no text read as a number."""

import difflib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, cast

from rest_framework import serializers
from rest_framework.exceptions import ValidationError

#: What each kind of field takes in JSON, and how a refusal calls it. DRF's own fields also read
#: "12" as a number, 12 as a text and "off" as false, which the OpenAPI document does not say.
_TAKEN: tuple[tuple[type[Any], tuple[type, ...], str], ...] = (
    (serializers.CharField, (str,), "text"),
    (serializers.DateField, (str,), "a date such as 2026-11-25"),
    (serializers.BooleanField, (bool,), "true or false"),
    (serializers.IntegerField, (int,), "a whole number"),
    (serializers.DecimalField, (int, Decimal), "a number"),
)


class Strict:
    """For a serializer: refuses unknown keys, and values of another type than the field's."""

    def to_internal_value(self, data: Any) -> Any:
        refused = dict(self._refused(data)) if isinstance(data, Mapping) else {}
        try:
            value = super().to_internal_value(data)  # type: ignore[misc]
        except ValidationError as wrong:
            if isinstance(wrong.detail, dict):
                raise ValidationError({**wrong.detail, **refused}) from wrong
            raise
        if refused:
            raise ValidationError(refused)
        return value

    def _refused(self, data: Mapping[str, Any]) -> Iterator[tuple[str, list[str]]]:
        fields = cast("serializers.Serializer[Any]", self).fields
        writable = {name: field for name, field in fields.items() if not field.read_only}
        for key, value in data.items():
            if key not in writable:
                yield key, [_unwanted(key, fields, list(writable))]
            elif wanted := _wanted_instead(writable[key], value):
                yield key, [f"must be {wanted}."]


def _unwanted(key: str, fields: Mapping[str, Any], writable: list[str]) -> str:
    if key in fields:
        return "is set by the server; leave it out."
    near = difflib.get_close_matches(key, writable, n=1)
    if near:
        return f"is no key of this object; did you mean {near[0]!r}?"
    return f"is no key of this object, which takes {', '.join(writable)}."


def _wanted_instead(field: Any, value: Any) -> str | None:
    """Return what a field takes, if it does not take this value."""
    if value is None:
        return None
    for kind, types, wanted in _TAKEN:
        if isinstance(field, kind):
            # In Python true is a whole number; in JSON it is none.
            taken = isinstance(value, types) and (bool in types or not isinstance(value, bool))
            return None if taken else wanted
    return None
