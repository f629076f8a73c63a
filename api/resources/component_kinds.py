"""Kinds of component, from the catalogue: how they age, what to beware of, when they fall due."""

from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from typing import Any

from django.http import Http404
from drf_spectacular.utils import OpenApiParameter, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.problems import query_refusal
from api.resources.base import Resource
from api.resources.rule_terms import RuleTerms
from api.shapes import Row
from maintenance.catalogue.kinds import ComponentKind
from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rules import IntervalRule
from maintenance.catalogue.words import unknown


class CautionSerializer(serializers.Serializer[Any]):
    """A standing caution, shown with every item of the kind."""

    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class DefaultRule(RuleTerms):
    """An interval rule of the catalogue, in force where no narrower rule replaces it."""


class ComponentKindSerializer(serializers.Serializer[Any]):
    """A kind of component that a car may have in one or more places."""

    slug = serializers.CharField()
    name = serializers.CharField()
    system = serializers.CharField(help_text="Slug of the system of the car it belongs to.")
    set_of = serializers.BooleanField(help_text="Whether it is fitted and renewed as a set.")
    mechanisms = serializers.ListField(
        child=serializers.CharField(), help_text="How it ages while the car stands."
    )
    cautions = CautionSerializer(many=True)
    note = serializers.CharField(allow_blank=True)
    source = serializers.CharField()  # type: ignore[assignment]
    read_on = serializers.DateField(help_text="Day on which the sources were read.")
    interval_rules = DefaultRule(many=True)


@extend_schema_serializer(many=False)
class ComponentKindList(serializers.Serializer[Any]):
    """All kinds at once, in the form of a list of which there is one page."""

    items = ComponentKindSerializer(many=True)
    next = serializers.CharField(allow_null=True, help_text="Always null.")


class ComponentKinds(Resource):
    """The kinds that `kind` and `component_kind` name everywhere else."""

    noun, nouns = "component kind", "component kinds"
    lookup_field = "slug"
    lookup_value_converter = "slug"
    serializer_class = ComponentKindSerializer
    # All of them fit in one answer, which changes only with a new release.
    pagination_class = None
    parameters = {
        "list": {
            "system": OpenApiParameter(
                "system",
                description="Slug of a system of the car, such as `brakes`.",
                enum=sorted(catalogue().systems),
            )
        }
    }
    filter_backends = []

    @property
    def example(self) -> Row:  # type: ignore[override]
        return _shown("brake-fluid")

    def list(self, request: Request) -> Response:
        wanted = request.query_params.get("system")
        systems = catalogue().systems
        if wanted is not None and wanted not in systems:
            raise query_refusal({"system": unknown("system", wanted, systems.keys())})
        kinds = [each for each in catalogue().kinds.values() if wanted in (None, each.system)]
        return Response({"items": [_shown(each.slug) for each in kinds], "next": None})

    def retrieve(self, request: Request, slug: str) -> Response:
        if slug not in catalogue().kinds:
            raise Http404
        return Response(_shown(slug))

    def answers(self, action: str) -> Any:
        return ComponentKindList if action == "list" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        return {"items": [self.example], "next": None} if action == "list" else self.example


@cache
def _shown(slug: str) -> Row:
    kind: ComponentKind = catalogue().kinds[slug]
    own = {name: getattr(kind, name) for name in ("slug", "name", "system", "set_of", "note")}
    return own | {
        "mechanisms": list(kind.mechanisms),
        "cautions": [
            {"text": each.text, "source": each.source} for each in catalogue().cautions_for(slug)
        ],
        "source": kind.source,
        "read_on": kind.read_on,
        "interval_rules": [_rule(each) for each in catalogue().rules_for(slug)],
    }


def _rule(rule: IntervalRule) -> Row:
    shown = {field.name: getattr(rule, field.name) for field in fields(rule)}
    wear = rule.wear and {field.name: getattr(rule.wear, field.name) for field in fields(rule.wear)}
    terms: Mapping[str, Any] = {
        "factors": dict(rule.lay_up.factors),
        "km_per_month": rule.lay_up.km_per_month,
    }
    return shown | {"wear": wear, "lay_up": terms}
