"""A collection's own interval rules, which replace less specific ones whole."""

import dataclasses
import datetime
from typing import Any, cast

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfVehicle, filters
from api.resources.described import Changing, Kept
from api.resources.rule_terms import RuleTerms
from api.serializers import CollectionInSight, VehicleInSight
from api.shapes import Row
from maintenance.models import IntervalRule
from maintenance.services import interval_rules
from maintenance.services.rule_rows import RuleScope

#: What a rule is for; its terms stand beside these.
SCOPE = ("vehicle", "make", "model", "position")


def _scope_text(help_text: str) -> serializers.CharField:
    return serializers.CharField(
        max_length=60, required=False, allow_blank=True, help_text=help_text
    )


class IntervalRuleSerializer(RuleTerms):
    """A rule for one car, one make or model, one position, or the whole collection."""

    id = serializers.UUIDField(read_only=True)
    version = serializers.IntegerField(read_only=True)
    collection = CollectionInSight(help_text="Identifier of the collection.")
    vehicle = VehicleInSight(
        required=False, allow_null=True, help_text="The one car the rule is for."
    )
    make = _scope_text("Make of the cars the rule is for.")
    model = _scope_text("Model of the cars the rule is for; give the make as well.")
    position = _scope_text("Position of the components the rule is for.")


class IntervalRuleChange(Changing, IntervalRuleSerializer):
    """Terms that are given replace the old ones, `lay_up` and `wear` whole."""

    stays = ("collection",)


class IntervalRuleFilters(OfVehicle):
    component_kind = filters.CharFilter(field_name="kind", label="Slug of a component kind.")
    task = filters.ChoiceFilter(choices=IntervalRule.Task.choices, label="Task.")


class IntervalRules(Kept):
    """The rules a collection has made itself; the catalogue's stand with the component kinds."""

    noun, nouns = "interval rule", "interval rules"
    owner = "collection"
    serializer_class = IntervalRuleSerializer
    change_class = IntervalRuleChange
    filterset_class = IntervalRuleFilters
    example = {
        "id": "01931b5e-7e10-7b22-8a3b-1c2d3e4f5091",
        "version": 1,
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": None,
        "make": "Tarn",
        "model": "",
        "position": "",
        "name": "engine oil change, Tarn",
        "kind": "engine-oil",
        "task": "renew",
        "applies": "always",
        "months": 12,
        "distance_km": 5000,
        "lay_up": {
            "factors": {"heated": 1, "dry": 1, "damp": 1.1, "outdoors": 1.2},
            "km_per_month": 0,
        },
        "before_use_after_months": 18,
        "wear": None,
        "counts_shelf_age": False,
        "warn_days": 30,
        "warn_distance_km": 500,
        "criticality": "reliability",
        "source": "maker's handbook, page 31",
    }
    example_change = {"months": 6}

    def get_queryset(self) -> QuerySet[IntervalRule]:
        return self.in_sight(IntervalRule.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> IntervalRule:
        scope = RuleScope(**{name: given[name] for name in SCOPE if name in given})
        return interval_rules.add_interval_rule(
            collection=given["collection"], scope=scope, rule=self._terms(), today=today
        )

    def change(self, *, row: IntervalRule, given: Row, today: datetime.date) -> Any:
        asked = {name: given[name] for name in SCOPE if name in given}
        return interval_rules.change_interval_rule(
            interval_rule=row,
            version=row.version,
            changes=self._terms(),
            scope=dataclasses.replace(interval_rules.scope_of(row), **asked),
            today=today,
        )

    def remove(self, *, row: IntervalRule, today: datetime.date) -> None:
        interval_rules.remove_interval_rule(interval_rule=row, version=row.version, today=today)

    def _terms(self) -> Row:
        """Return the terms as the client wrote them; the service reads them as it reads a file."""
        names = RuleTerms().fields
        body = cast(Row, self.request.data)
        return {name: value for name, value in body.items() if name in names}
