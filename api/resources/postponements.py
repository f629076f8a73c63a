"""Due items that were put off: by whom, until when and why."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import DayFilter, FlagFilter, OfVehicle
from api.resources.recorded import EXAMPLE_ORIGIN, ORIGIN, Recorded
from api.serializers import DueItemInSight, StrictModelSerializer
from maintenance.models import Postponement
from maintenance.queries.access import may_put_off
from maintenance.services.postponements import put_off


class PostponementSerializer(StrictModelSerializer):
    """A due item put off; it moves no day and hides nothing."""

    due_item = DueItemInSight(write_only=True, help_text="Identifier of the due item.")
    component_kind = serializers.CharField(source="kind", read_only=True)

    class Meta:
        model = Postponement
        fields = (
            *("id", "collection", "vehicle", *ORIGIN),
            *("due_item", "component_kind", "position", "rule", "until", "why"),
        )
        read_only_fields = ("id", "collection", "vehicle", *ORIGIN, "position", "rule")


class PostponementFilters(OfVehicle):
    current = FlagFilter(label="In force, or superseded.")
    until_on_or_after = DayFilter(
        field_name="until", lookup_expr="gte", label="Put off until this day or a later one."
    )


class Postponements(Recorded):
    """Postponements. To put an item off again is to supersede the one before."""

    noun, nouns = "postponement", "postponements"
    said = {"create": ("Put a due item off", "put_off")}
    serializer_class = PostponementSerializer
    filterset_class = PostponementFilters
    ordering_on_a_car = ("until", "id")
    why_withdrawn = "The fluid has come."
    example = EXAMPLE_ORIGIN | {
        "component_kind": "brake-fluid",
        "position": "",
        "rule": "brake fluid renewal",
        "until": "2026-12-24",
        "why": "The fluid is on order; the car stands until then.",
    }

    def get_queryset(self) -> QuerySet[Postponement]:
        return self.in_sight(Postponement.objects.all())

    def create(self, request: Request) -> Response:
        given = self.given()
        item = given["due_item"]
        when = self.by_and_when(item.vehicle)
        if not may_put_off(self.sight, item):
            raise PermissionDenied("A keeper alone does not put off a safety item.")
        return self.created(put_off(**given, **when).pk)

    def example_request(self, action: str) -> Any:
        if action != "create":
            return super().example_request(action)
        said = {name: self.example[name] for name in ("until", "why")}
        return {"due_item": "01931b5e-8000-7c31-8f2a-5a6c0f1e2d3c", **said}
