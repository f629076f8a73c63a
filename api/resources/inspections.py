"""Roadworthiness inspections with their findings."""

from collections import defaultdict
from typing import Any

from django.db.models import F, QuerySet
from rest_framework import serializers

from api.filters import OfHistory, filters
from api.resources.findings import FindingSerializer
from api.resources.recorded import EXAMPLE_ORIGIN, Corrected, Correcting, RecordSerializer
from api.shapes import Row, shape_of
from maintenance.models import Finding, Inspection, Vehicle
from maintenance.services import inspections
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place


class InspectionSerializer(RecordSerializer):
    """An inspection; a certificate's own expiry goes before the computed day."""

    odometer_unit = serializers.CharField(source="vehicle.odometer_unit", read_only=True)
    findings = FindingSerializer(many=True, required=False)

    class Meta(RecordSerializer.Meta):
        model = Inspection
        fields = (
            *RecordSerializer.Meta.fields,
            *("on", "odometer", "odometer_unit", "result", "expires_on", "certificate"),
            "findings",
        )


class InspectionCorrection(Correcting, InspectionSerializer):
    """What the inspection really said, in full."""


class InspectionFilters(OfHistory):
    result = filters.ChoiceFilter(choices=Inspection.Result.choices, label="Result.")


class Inspections(Corrected):
    """Statutory inspections, passed and failed."""

    noun, nouns = "inspection", "inspections"
    serializer_class = InspectionSerializer
    correction_class = InspectionCorrection
    filterset_class = InspectionFilters
    example = EXAMPLE_ORIGIN | {
        "on": "2026-04-14",
        "odometer": 47580,
        "odometer_unit": "mi",
        "result": "pass",
        "expires_on": "2027-04-13",
        "certificate": "4711-0815",
        "findings": [
            {
                "id": "01931b5e-7f10-7c31-8f2a-5a6c0f1e2d4c",
                "component": "01931b5e-7c01-7b22-8a3b-1c2d3e4f5063",
                "kind": "brake-hose",
                "position": "front left",
                "category": "advisory",
                "note": "Surface cracks.",
            }
        ],
    }

    def get_queryset(self) -> QuerySet[Inspection]:
        return self.in_sight(Inspection.objects.all())

    def complete(self, items: list[Row]) -> list[Row]:
        findings = _findings([item["id"] for item in items])
        return [item | {"findings": findings[item["id"]]} for item in items]

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> Inspection:
        return inspections.record_inspection(vehicle=vehicle, draft=_draft(given), **when)

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> Inspection:
        draft = _draft(given)
        return inspections.correct_inspection(inspection=record, draft=draft, reason=reason, **when)


def _findings(made_by: list[Any]) -> defaultdict[Any, list[Row]]:
    """Return the findings of inspections, by inspection; one query however many there are."""
    shape = shape_of(FindingSerializer)
    rows = Finding.objects.filter(inspection__in=made_by).order_by("inspection_id", "sequence")
    found: defaultdict[Any, list[Row]] = defaultdict(list)
    for row in shape.read(rows).annotate(_inspection=F("inspection_id")):
        found[row["_inspection"]].append(shape.shaped(row) or {})
    return found


def _draft(given: Row) -> InspectionDraft:
    findings = tuple(
        FindingDraft(place=Place(**each.pop("component")), **each)
        for each in given.pop("findings", ())
    )
    return InspectionDraft(findings=findings, **given)
