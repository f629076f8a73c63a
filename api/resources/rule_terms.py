"""The terms of an interval rule, in the one shape that rules have in files and over HTTP."""

from typing import Any

from rest_framework import serializers

from api.serializers import NearestChoiceField, StrictSerializer
from maintenance.models import IntervalRule


def _number(digits: int, places: int, **kwargs: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=digits, decimal_places=places, **kwargs)


def _factor(column: str) -> serializers.DecimalField:
    # That it is at least 1 is for the service to say, which gives the reason.
    return _number(5, 2, source=column, required=False, help_text="Days one laid-up day counts.")


class FactorTerms(StrictSerializer):
    """How many days one laid-up day counts, by storage grade; at least 1, or it is refused."""

    heated = _factor("factor_heated")
    dry = _factor("factor_dry")
    damp = _factor("factor_damp")
    outdoors = _factor("factor_outdoors")


class LayUpTerms(StrictSerializer):
    """How standing counts against the limit."""

    factors = FactorTerms(source="*", required=False)
    km_per_month = _number(
        8, 3, required=False, min_value=0, help_text="Distance counted for a month laid up [km]."
    )


class WearTerms(StrictSerializer):
    """The measured value at which the component is worn out: a minimum or a maximum."""

    quantity = serializers.CharField(source="wear_quantity", max_length=40)
    unit = serializers.CharField(source="wear_unit", max_length=12)
    new = _number(12, 4, source="wear_new", required=False, allow_null=True)
    minimum = _number(12, 4, source="wear_minimum", required=False, allow_null=True)
    maximum = _number(12, 4, source="wear_maximum", required=False, allow_null=True)
    against = NearestChoiceField(
        source="wear_against", choices=IntervalRule.Against.choices, required=False
    )


class RuleTerms(StrictSerializer):
    """What is to be done to a kind of component, how often, and who says so."""

    name = serializers.CharField(max_length=120)
    kind = serializers.CharField(max_length=60, help_text="Slug of the component kind.")
    task = NearestChoiceField(choices=IntervalRule.Task.choices)
    applies = NearestChoiceField(choices=IntervalRule.Applies.choices, required=False)
    months = serializers.IntegerField(
        min_value=1, max_value=1200, required=False, allow_null=True, help_text="Time limit."
    )
    distance_km = _number(
        9, 3, required=False, allow_null=True, min_value=0, help_text="Distance limit [km]."
    )
    lay_up = LayUpTerms(source="*", required=False)
    before_use_after_months = serializers.IntegerField(
        min_value=1,
        max_value=1200,
        required=False,
        allow_null=True,
        help_text="Months of standing after which the task is due before the car is used.",
    )
    wear = WearTerms(source="*", required=False, allow_null=True)
    counts_shelf_age = serializers.BooleanField(required=False)
    warn_days = serializers.IntegerField(min_value=0, max_value=3660, required=False)
    warn_distance_km = _number(9, 3, required=False, min_value=0)
    criticality = NearestChoiceField(choices=IntervalRule.Criticality.choices)
    source = serializers.CharField(  # type: ignore[assignment]
        max_length=300, help_text="Standard and clause, handbook and page, or `common practice`."
    )
