"""Periods off the road."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import DayFilter, OfHistory, filters
from api.resources.recorded import EXAMPLE_ORIGIN, Corrected, Correcting, RecordSerializer
from api.serializers import StrictSerializer
from api.shapes import Row
from maintenance.models import LayUp, Vehicle
from maintenance.services import lay_ups
from maintenance.services.drafts import LayUpDraft
from maintenance.services.refusals import Problem, Refused


class LayUpSerializer(RecordSerializer):
    """A half-open period: the day it ends is a day in use."""

    preparations = serializers.ListField(
        child=serializers.CharField(max_length=200),
        required=False,
        max_length=50,
        help_text="What was done to the car before it was laid up.",
    )

    class Meta(RecordSerializer.Meta):
        model = LayUp
        fields = (
            *RecordSerializer.Meta.fields,
            *("from_on", "to_on", "expected_to", "storage", "preparations"),
        )
        shown_as = {"from_on": "from", "to_on": "to"}


class LayUpCorrection(Correcting, LayUpSerializer):
    """How the car really stood, for example with the day on which it came back to the road."""


class LayUpEnd(StrictSerializer):
    """When the car came back to the road."""

    on = serializers.DateField(help_text="First day back in use.")


class LayUpFilters(OfHistory):
    """Lay-ups have a first day where other records have the day itself."""

    on_or_after = DayFilter(
        field_name="from_on", lookup_expr="gte", label="Earliest first day off the road."
    )
    on_or_before = DayFilter(
        field_name="from_on", lookup_expr="lte", label="Latest first day off the road."
    )
    storage = filters.ChoiceFilter(choices=LayUp.Storage.choices, label="Storage grade.")


class LayUps(Corrected):
    """Lay-ups, past and lasting. One that lasts is ended by `end`, on the first day back in use."""

    noun, nouns = "lay-up", "lay-ups"
    serializer_class = LayUpSerializer
    correction_class = LayUpCorrection
    filterset_class = LayUpFilters
    verbs = Corrected.verbs | {"end": "correct"}
    said = {"end": ("End a lay-up", "end_lay_up")}
    ordering_on_a_car = ("from_on", "id")
    example = EXAMPLE_ORIGIN | {
        "from": "2026-10-25",
        "to": None,
        "expected_to": "2027-04-01",
        "storage": "damp",
        "preparations": ["drained-tank", "battery-removed"],
    }

    def get_queryset(self) -> QuerySet[LayUp]:
        return self.in_sight(LayUp.objects.all())

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> LayUp:
        return lay_ups.lay_up(vehicle=vehicle, draft=_draft(given), **when)

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> LayUp:
        draft = _draft(given)
        return lay_ups.correct_lay_up(lay_up=record, draft=draft, reason=reason, **when)

    @action(detail=True, methods=["post"])
    def end(self, request: Request, pk: Any) -> Response:
        record = self.instance(pk)
        when = self.by_and_when(record.vehicle)
        on = self.given(LayUpEnd)["on"]
        if record.to_on or record.withdrawn or not record.current:
            raise Refused([Problem("", "This lay-up does not last; correct the one in force.")])
        return self.created(lay_ups.end_lay_up(vehicle=record.vehicle, on=on, **when).pk)

    def takes(self, action: str) -> Any:
        return LayUpEnd if action == "end" else super().takes(action)

    def example_request(self, action: str) -> Any:
        return {"on": "2027-03-28"} if action == "end" else super().example_request(action)


def _draft(given: Row) -> LayUpDraft:
    return LayUpDraft(**given | {"preparations": tuple(given.get("preparations", ()))})
