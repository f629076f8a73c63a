"""The derivation of a due item as the service hands it over, for the OpenAPI document."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from maintenance.models import DueItem


@extend_schema_field({"type": ["number", "string", "null"]})
class Figure(serializers.Field[Any, Any, Any, Any]):
    """A number, a day, a text, or nothing on a line that is a remark."""


class WorkingLine(serializers.Serializer[Any]):
    """A fact with its source, or arithmetic on the lines above it."""

    name = serializers.CharField(allow_blank=True, help_text="Name used by formulas below.")
    says = serializers.CharField()
    value = Figure()
    unit = serializers.CharField(allow_blank=True)
    formula = serializers.CharField(allow_blank=True, help_text="Empty for a fact.")
    figures = serializers.CharField(allow_blank=True, help_text="The formula with the values in.")
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]


class WorkingCriterion(serializers.Serializer[Any]):
    """How one criterion comes to its day, or why it has none."""

    criterion = serializers.ChoiceField(choices=DueItem.GovernedBy.choices)
    due_on = serializers.DateField(allow_null=True)
    earliest_on = serializers.DateField(allow_null=True)
    latest_on = serializers.DateField(allow_null=True)
    lines = WorkingLine(many=True)


class ConditionFact(serializers.Serializer[Any]):
    """A figure that an estimate rests on."""

    says = serializers.CharField()
    value = Figure()
    unit = serializers.CharField(allow_blank=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]


class Condition(serializers.Serializer[Any]):
    """An estimate of the part's present state, or the reason why there is none."""

    quantity = serializers.CharField()
    unit = serializers.CharField(help_text="Unit of the band; `date` where it is days.")
    low = Figure()
    central = Figure()
    high = Figure()
    reason = serializers.CharField(allow_blank=True, help_text="Why there is no estimate.")
    facts = ConditionFact(many=True)
    warnings = serializers.ListField(child=serializers.CharField())
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]
    lines = WorkingLine(many=True, help_text="The arithmetic of it, with its formulas.")
    look_for = serializers.ListField(
        child=serializers.CharField(), help_text="What to look for and do before it is used."
    )


class WorkingLeg(serializers.Serializer[Any]):
    """A part's time in one place, on a car or on a shelf."""

    vehicle = serializers.CharField(
        allow_blank=True,
        help_text="Registration of the car the place belongs to; empty for another collection's.",
    )
    position = serializers.CharField(allow_blank=True)
    storage = serializers.CharField(allow_blank=True, help_text="Grade of a shelf; empty on a car.")
    from_on = serializers.DateField(allow_null=True, help_text="Empty: there all along.")
    until_on = serializers.DateField(allow_null=True, help_text="Empty: still there.")
    aged_days = serializers.FloatField(
        allow_null=True, help_text="Days that the clock counted there, by storage grade."
    )
    distance_km = serializers.FloatField(allow_null=True, help_text="Distance counted there.")


class Working(serializers.Serializer[Any]):
    """Every criterion, the one that governs, and one plain sentence."""

    on = serializers.DateField(help_text="The day asked about.")
    sentence = serializers.CharField()
    governed_by = serializers.ChoiceField(choices=DueItem.GovernedBy.choices)
    status = serializers.ChoiceField(choices=DueItem.Status.choices)
    due_on = serializers.DateField(allow_null=True)
    criteria = WorkingCriterion(many=True)
    journey = WorkingLeg(
        many=True, help_text="Where the part has been; empty if always in this place."
    )
    condition = Condition(many=True, help_text="Estimates of the part's state; no inspection.")
    plots = serializers.ListField(
        child=serializers.URLField(), help_text="Addresses of pictures of it, as SVG."
    )
    caution = serializers.CharField(allow_blank=True)


EXAMPLE = {
    "on": "2026-11-25",
    "sentence": "Brake fluid: renew by 2026-05-02, 24 months after 2024-05-02.",
    "governed_by": "time",
    "status": "overdue",
    "due_on": "2026-05-02",
    "criteria": [
        {
            "criterion": "time",
            "due_on": "2026-05-02",
            "earliest_on": "2026-05-02",
            "latest_on": "2026-05-02",
            "lines": [
                {
                    "name": "start",
                    "says": "day of the latest renewal",
                    "value": "2024-05-02",
                    "unit": "",
                    "formula": "",
                    "figures": "",
                    "source": "",
                },
                {
                    "name": "months",
                    "says": "limit of the rule",
                    "value": 24,
                    "unit": "months",
                    "formula": "",
                    "figures": "",
                    "source": "common practice",
                },
                {
                    "name": "due_on",
                    "says": "the day that is so many months later",
                    "value": "2026-05-02",
                    "unit": "",
                    "formula": "add_months(start, months)",
                    "figures": "add_months(2024-05-02, 24)",
                    "source": "",
                },
            ],
        }
    ],
    "journey": [],
    "condition": [
        {
            "quantity": "water_content",
            "unit": "%",
            "low": 2.9,
            "central": 4.1,
            "high": 5.2,
            "reason": "",
            "facts": [{"says": "renewed on", "value": "2024-05-02", "unit": "", "source": ""}],
            "warnings": [],
            "source": "trade articles on uptake",
            "lines": [
                {
                    "name": "balance",
                    "says": "water in balance with air of 60 %RH",
                    "value": 7.5,
                    "unit": "%",
                    "formula": "",
                    "figures": "",
                    "source": "trade article: 7 to 8 % after several years",
                }
            ],
            "look_for": [],
        }
    ],
    "plots": [],
    "caution": "Brake fluid harms paint and skin.",
}
