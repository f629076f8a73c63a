"""Examples of requests, drawn from the examples of answers so that the two can't differ."""

from typing import Any

from rest_framework import serializers


def sent(serializer: Any, answered: Any) -> Any:
    """Return of an answer's example what a client may send: no read-only and no empty member."""
    if isinstance(serializer, serializers.ListSerializer):
        return [sent(serializer.child, each) for each in answered]
    if not isinstance(serializer, serializers.Serializer):
        return answered
    given = {}
    for name, field in serializer.fields.items():
        value = answered.get(name, field.help_text if field.write_only else None)
        if not field.read_only and value not in (None, "", []):
            given[name] = sent(field, value)
    return given
