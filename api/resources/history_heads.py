"""The head of a car's history: what stands for all that is recorded of it."""

from typing import Any

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.resources.base import Resource
from maintenance.queries.history_heads import NOTHING_YET, heads_of

SAID = {"history_head": ("Read the head of a vehicle's history", "read_history_head")}
EXAMPLE = {
    "length": 214,
    "digest": "9f2b5c1e7d60433f8f4b2f6a5d4c3b2a19080706f5e4d3c2b1a0918273645546",
}


class HistoryHeadSerializer(serializers.Serializer[Any]):
    """Note it, and `verify_history` can tell later that nothing before it was changed."""

    length = serializers.IntegerField(help_text="How many records the chain has.")
    digest = serializers.CharField(
        help_text="SHA-256 of the last record and the digest before it; empty without records."
    )


class HistoryHead(Resource):
    """Gives a vehicle the head of its history."""

    verbs = Resource.verbs | {"history_head": "see"}

    @action(detail=True, methods=["get"], url_path="history-head")
    def history_head(self, request: Request, pk: Any) -> Response:
        car = self.instance(pk)
        return Response(heads_of([car.pk]).get(car.pk, NOTHING_YET)._asdict())

    def answers(self, action: str) -> Any:
        return HistoryHeadSerializer if action == "history_head" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        return EXAMPLE if action == "history_head" else super().example_answer(action)
