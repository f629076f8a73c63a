"""What falls due, when and why; and the full derivation of each answer."""

import datetime
from functools import cached_property
from typing import Any

from django.db.models import Case, DateField, Q, QuerySet, Value, When
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import DayFilter, OfVehicle, filters
from api.problems import query_refusal
from api.resources.base import Listed
from api.resources.pictures import PictureSchema, SvgRenderer
from api.resources.workings import EXAMPLE as WORKING_EXAMPLE
from api.resources.workings import Working
from api.serializers import StrictModelSerializer
from api.shapes import Row
from maintenance.catalogue.words import unknown
from maintenance.models import Collection, DueItem, IntervalRule, Postponement
from maintenance.queries.due_items import status
from maintenance.queries.put_offs import put_offs_of
from maintenance.queries.today import this_instant, today_in
from maintenance.services.pictures import PICTURES, plot_of
from maintenance.services.working import working_of

#: In the order of `criticality_rank`, the gravest first.
CRITICALITIES = IntervalRule.Criticality.values


class CriterionSerializer(serializers.Serializer[Any]):
    """One way in which the item can fall due."""

    criterion = serializers.ChoiceField(choices=DueItem.GovernedBy.choices)
    due_on = serializers.DateField(allow_null=True)
    earliest_on = serializers.DateField(allow_null=True)
    latest_on = serializers.DateField(allow_null=True)


class PutOffSerializer(serializers.Serializer[Any]):
    """Who put the item off, until when and why; it is due when it is due."""

    postponement = serializers.UUIDField(help_text="Identifier of the postponement.")
    until = serializers.DateField(help_text="Last day for which it is put off.")
    why = serializers.CharField()
    by = serializers.UUIDField(allow_null=True, help_text="Identifier of the account.")


@extend_schema_field(PutOffSerializer(allow_null=True))
class PutOffField(serializers.Field[Any, Any, Any, Any]):
    """Read for a whole page at once, by `DueItems.complete`."""


class DueItemSerializer(StrictModelSerializer):
    """The stored answer for one component and one rule, one inspection or one paper."""

    registration = serializers.CharField(source="vehicle.registration")
    component_kind = serializers.CharField(source="kind")
    status = serializers.ChoiceField(
        choices=DueItem.Status.choices, help_text="On the present day of the collection."
    )
    odometer_unit = serializers.CharField(source="vehicle.odometer_unit")
    criticality = serializers.ChoiceField(
        source="criticality_rank", choices=IntervalRule.Criticality.choices
    )
    criteria = serializers.ListField(child=CriterionSerializer())
    put_off = PutOffField(source="*", read_only=True)

    class Meta:
        model = DueItem
        fields = (
            *("id", "collection", "vehicle", "registration", "component", "component_kind"),
            *("position", "rule", "task", "status", "due_on", "due_at_odometer"),
            *("odometer_unit", "governed_by", "earliest_on", "latest_on", "criticality"),
            *("criteria", "sentence", "caution", "source", "finding", "paper", "put_off"),
        )
        read_only_fields = fields


class DueItemFilters(OfVehicle):
    status = filters.ChoiceFilter(choices=DueItem.Status.choices, label="Status.")
    criticality = filters.ChoiceFilter(
        choices=IntervalRule.Criticality.choices, method="of_criticality", label="Criticality."
    )
    due_before = DayFilter(
        method="of_days_before",
        label="Due before this day; what has no record is due now, so it is too if that is past.",
    )
    governed_by = filters.ChoiceFilter(
        choices=DueItem.GovernedBy.choices, label="Governing criterion."
    )
    component_kind = filters.CharFilter(field_name="kind", label="Slug of a component kind.")

    def of_days_before(
        self, queryset: QuerySet[Any], name: str, value: datetime.date
    ) -> QuerySet[Any]:
        due = Q(due_on__lt=value)
        if this_instant().date() < value:
            due |= Q(no_record=True)
        return queryset.filter(due)

    def of_criticality(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return queryset.filter(criticality_rank=CRITICALITIES.index(value))


_ON = OpenApiParameter(
    "on", OpenApiTypes.DATE, description="Day to work it out for, today if not given."
)
_OF = OpenApiParameter(
    "of", description="What to draw; the first there is if not given.", enum=PICTURES
)


class DueItems(Listed):
    """The due list, the gravest first, then by day. It is stored, so that reading it is cheap."""

    noun, nouns = "due item", "due items"
    verbs = Listed.verbs | {"working": "see", "plot": "see"}
    said = {
        "working": ("Read the working of a due item", "read_working"),
        "plot": ("Draw a due item", "draw_due_item"),
    }
    parameters = {
        "working": {"on": _ON},
        "plot": {"on": _ON, "of": _OF},
    }
    serializer_class = DueItemSerializer
    filterset_class = DueItemFilters
    ordering = ("criticality_rank", "order_day", "kind", "position", "id")
    example = {
        "id": "01931b5e-8000-7c31-8f2a-5a6c0f1e2d3c",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "registration": "VO 1964",
        "component": "01931b5e-7c00-7b22-8a3b-1c2d3e4f5062",
        "component_kind": "brake-fluid",
        "position": "",
        "rule": "brake fluid renewal",
        "task": "renew",
        "status": "overdue",
        "due_on": "2026-05-02",
        "due_at_odometer": None,
        "odometer_unit": "mi",
        "governed_by": "time",
        "earliest_on": "2026-05-02",
        "latest_on": "2026-05-02",
        "criticality": "safety",
        "criteria": [
            {
                "criterion": "time",
                "due_on": "2026-05-02",
                "earliest_on": "2026-05-02",
                "latest_on": "2026-05-02",
            }
        ],
        "sentence": "Brake fluid: renew by 2026-05-02, 24 months after 2024-05-02.",
        "caution": "Brake fluid harms paint and skin.",
        "source": "common practice",
        "finding": None,
        "paper": None,
        "put_off": {
            "postponement": "01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
            "until": "2026-12-24",
            "why": "The fluid is on order; the car stands until then.",
            "by": "01931b5e-7900-7f00-a111-223344556677",
        },
    }

    def get_queryset(self) -> QuerySet[DueItem]:
        items = self.in_sight(DueItem.objects.all())
        return items.annotate(status=status(self._today))  # type: ignore[no-redef]

    @cached_property
    def _today(self) -> Any:
        """Return the local day, by collection where the account's collections differ in it."""
        seen = Collection.objects.filter(pk__in=self.sight.collections)
        days = {collection.pk: today_in(collection) for collection in seen}
        if len(set(days.values())) <= 1:
            return next(iter(days.values()), None) or this_instant().date()
        by_collection = [When(collection=key, then=Value(day)) for key, day in days.items()]
        return Case(*by_collection, output_field=DateField())

    def complete(self, items: list[Row]) -> list[Row]:
        found = put_offs_of((item["id"] for item in items), on=self._today)
        for item in items:
            item["criticality"] = CRITICALITIES[item["criticality"]]
            item["put_off"] = _put_off(found.get(item["id"]))
        return items

    @action(detail=True, methods=["get"])
    def working(self, request: Request, pk: Any) -> Response:
        item = self.instance(pk)
        working = working_of(due_item=item, on=self._asked_on(item))
        address = request.build_absolute_uri(self.reverse_action("plot", args=[pk]))
        # A picture is named by its address, so that a page need not know how to make one.
        working["plots"] = [f"{address}?of={name}&on={working['on']}" for name in working["plots"]]
        return Response(working)

    @action(
        detail=True,
        methods=["get"],
        url_path="plot.svg",
        renderer_classes=[SvgRenderer],
        schema=PictureSchema(),
    )
    def plot(self, request: Request, pk: Any) -> Response:
        item = self.instance(pk)
        of = request.query_params.get("of")
        if of is not None and of not in PICTURES:
            raise query_refusal({"of": unknown("picture", of, PICTURES)})
        return Response(plot_of(due_item=item, of=of, on=self._asked_on(item)))

    def _asked_on(self, item: DueItem) -> datetime.date:
        asked = self.request.query_params.get("on")
        return _day(asked) if asked else today_in(item.collection)

    def answers(self, action: str) -> Any:
        return Working if action == "working" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        if action == "plot":
            return None
        return WORKING_EXAMPLE if action == "working" else super().example_answer(action)


def _put_off(made: Postponement | None) -> Row | None:
    if made is None:
        return None
    said = {"until": made.until, "why": made.why, "by": made.recorded_by_id}
    return {"postponement": made.pk, **said}


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise query_refusal({"on": f"{text!r} is no day; write for example 2026-11-25."}) from None
