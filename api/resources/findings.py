"""Faults and advice named by inspections, across a car or a collection."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfCollection, filters
from api.resources.base import Listed
from api.serializers import StrictModelSerializer
from maintenance.models import Finding


class FindingSerializer(StrictModelSerializer):
    """One finding, of a category of Directive 2014/45/EU, Article 7, or an advisory."""

    kind = serializers.CharField(
        source="component.kind", max_length=60, help_text="Slug of the component kind."
    )
    position = serializers.CharField(
        source="component.position",
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="Where on the car; empty where there is only one.",
    )

    class Meta:
        model = Finding
        fields: tuple[str, ...] = ("id", "component", "kind", "position", "category", "note")
        read_only_fields = ("id", "component")


class StandingFindingSerializer(FindingSerializer):
    """A finding with the inspection that made it."""

    vehicle = serializers.UUIDField(source="inspection.vehicle_id", read_only=True)
    on = serializers.DateField(source="inspection.on", read_only=True)

    class Meta(FindingSerializer.Meta):
        fields = ("inspection", "collection", "vehicle", "on", *FindingSerializer.Meta.fields)


class FindingFilters(OfCollection):
    vehicle = filters.UUIDFilter(
        field_name="inspection__vehicle_id", label="Identifier of a vehicle."
    )
    inspection = filters.UUIDFilter(
        field_name="inspection_id", label="Identifier of an inspection."
    )
    category = filters.ChoiceFilter(choices=Finding.Category.choices, label="Category.")
    component_kind = filters.CharFilter(
        field_name="component__kind", label="Slug of a component kind."
    )


class Findings(Listed):
    """Findings of the inspections in force; they are recorded with their inspection."""

    noun, nouns = "finding", "findings"
    serializer_class = StandingFindingSerializer
    filterset_class = FindingFilters
    example: dict[str, Any] = {
        "inspection": "01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "on": "2026-04-14",
        "id": "01931b5e-7f10-7c31-8f2a-5a6c0f1e2d4c",
        "component": "01931b5e-7c01-7b22-8a3b-1c2d3e4f5063",
        "kind": "brake-hose",
        "position": "front left",
        "category": "advisory",
        "note": "Surface cracks.",
    }

    def get_queryset(self) -> QuerySet[Finding]:
        standing = Finding.objects.filter(inspection__current=True, inspection__withdrawn=False)
        return self.in_sight(standing)
