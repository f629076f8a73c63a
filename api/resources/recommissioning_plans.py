"""Plans that bring a car back to the road."""

import datetime
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.file_bodies import AsItIs, FileRenderer
from api.filters import DayFilter, OfVehicle, filters
from api.openapi import NounSchema
from api.problems import query_refusal
from api.resources.described import Changing, Kept
from api.resources.plan_examples import PLAN
from api.resources.plan_terms import RecommissioningPlanSerializer, draft_values, drafted
from api.serializers import NearestChoiceField, StrictSerializer
from api.shapes import Row
from maintenance.models import PlanPerson, PlanResource, RecommissioningPlan
from maintenance.queries.today import this_instant, today_in
from maintenance.services.checks.plans import WISHES
from maintenance.services.plans import stored
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.gantt import gantt
from maintenance.services.plans.job_sheet import job_sheet
from maintenance.services.plans.jobs import add_wish
from maintenance.services.plans.sheets import draft_of, stored_sheets
from maintenance.services.plans.terms import WishDraft
from maintenance.services.plans.working_days import working_days

_FILES = {
    "job_sheet": "application/pdf",
    "gantt": "image/svg+xml",
    "calendar": "text/calendar",
}


class PlanChange(Changing, RecommissioningPlanSerializer):
    """Terms of a plan that change; people and resources are given whole."""

    stays = ("vehicle",)


class Planning(StrictSerializer):
    """How the rest is planned again."""

    anew = serializers.BooleanField(
        default=False, help_text="As if nothing were planned, instead of moving little."
    )


class Wish(StrictSerializer):
    """Work that the keeper wants beside what the car asks for; it may be left out."""

    kind = serializers.CharField(max_length=60, help_text="Slug of the component kind.")
    position = serializers.CharField(max_length=60, required=False, allow_blank=True)
    task = NearestChoiceField(choices=WISHES)
    reason = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class PlanFilters(OfVehicle):
    state = filters.ChoiceFilter(choices=RecommissioningPlan.State.choices, label="State.")
    by_or_before = DayFilter(field_name="by", lookup_expr="lte", label="Latest day to be ready.")


#: How each file begins; the whole of one would fill the page.
_BEGINNINGS = {
    "job_sheet": "%PDF-1.4",
    "gantt": '<svg xmlns="http://www.w3.org/2000/svg"></svg>',
    "calendar": "BEGIN:VCALENDAR",
}


class PlanFileSchema(NounSchema):
    """Describes the plan as a file."""

    def get_examples(self) -> list[OpenApiExample]:
        name = self.view.action
        return [
            OpenApiExample(
                "beginning", _BEGINNINGS[name], response_only=True, media_type=_FILES[name]
            )
        ]

    def get_response_serializers(self) -> Any:
        answers = super().get_response_serializers()
        problems = {code: each for code, each in answers.items() if code != "200"}
        binary = {"type": "string", "format": "binary"}
        return {("200", _FILES[self.view.action]): OpenApiResponse(binary, "The file.")} | problems


def _file(name: str, **kwargs: Any) -> Callable[..., Any]:
    return action(
        detail=True,
        methods=["get"],
        url_path=name,
        renderer_classes=[FileRenderer],
        content_negotiation_class=AsItIs,
        schema=PlanFileSchema(),
        **kwargs,
    )


class RecommissioningPlans(Kept):
    """Recommissioning plans of the cars you may see.

    A change of terms, jobs or parts leaves the state `changed` until `planning` plans the rest
    again. Planning takes up to `time_limit` seconds.
    """

    noun, nouns = "recommissioning plan", "recommissioning plans"
    serializer_class = RecommissioningPlanSerializer
    change_class = PlanChange
    filterset_class = PlanFilters
    verbs = Kept.verbs | {
        "planning": "change",
        "wishes": "change",
        "job_sheet": "see",
        "gantt": "see",
        "calendar": "see",
    }
    said = {
        "create": ("Plan a car's way back to the road", "make_{noun}"),
        "planning": ("Plan the rest again", "plan_again"),
        "wishes": ("Add work that the keeper wants", "add_wish_to_plan"),
        "job_sheet": ("Print the job sheets of a plan", "read_job_sheet_of_plan"),
        "gantt": ("Draw a plan over its working days", "read_gantt_of_plan"),
        "calendar": ("Read the working days and deliveries of a plan", "read_calendar_of_plan"),
    }
    parameters = {
        "job_sheet": {
            "on": OpenApiParameter(
                "on", OpenApiTypes.DATE, description="One day; without it all working days."
            )
        }
    }
    example = PLAN
    example_change = {"by": "2027-05-15", "budget": 1200}

    def get_queryset(self) -> QuerySet[RecommissioningPlan]:
        plans = RecommissioningPlan.objects.select_related("vehicle__collection")
        return self.in_sight(plans)

    def complete(self, items: list[Row]) -> list[Row]:
        keys = [item["id"] for item in items]
        closed = dict(RecommissioningPlan.objects.filter(pk__in=keys).values_list("pk", "closed"))
        people, resources = _people(keys), _resources(keys)
        return [
            item
            | {
                # It may have been removed between two reads.
                "closed": closed.get(item["id"], []),
                "people": people[item["id"]],
                "resources": resources[item["id"]],
            }
            for item in items
        ]

    def add(self, *, given: Row, today: datetime.date) -> RecommissioningPlan:
        vehicle = given.pop("vehicle")
        draft = drafted(given, today)
        return stored.make_plan(vehicle=vehicle, draft=draft, today=today, at=this_instant())

    def change(self, *, row: RecommissioningPlan, given: Row, today: datetime.date) -> Any:
        draft = replace(draft_of(row), **draft_values(given))
        return stored.change_plan(plan=row, version=row.version, draft=draft, today=today)

    def remove(self, *, row: RecommissioningPlan, today: datetime.date) -> None:
        stored.remove_plan(plan=row, version=row.version)

    @action(detail=True, methods=["post"])
    def planning(self, request: Request, pk: Any) -> Response:
        plan = self.instance(pk)
        self.require_right(plan.vehicle)
        anew = self.given(Planning)["anew"]
        today = today_in(plan.vehicle.collection)
        stored.plan_again(plan=plan, today=today, at=this_instant(), anew=anew)
        return self.created(pk)

    @action(detail=True, methods=["post"])
    def wishes(self, request: Request, pk: Any) -> Response:
        plan = self.instance(pk)
        self.require_right(plan.vehicle)
        add_wish(plan=plan, draft=WishDraft(**self.given(Wish)))
        return self.created(pk)

    @_file("job-sheet.pdf")
    def job_sheet(self, request: Request, pk: Any) -> Response:
        asked = request.query_params.get("on")
        on = _day(asked) if asked else None
        return self._file(pk, lambda sheets: job_sheet(sheets, on))

    @_file("gantt.svg")
    def gantt(self, request: Request, pk: Any) -> Response:
        return self._file(pk, gantt)

    @_file("calendar.ics")
    def calendar(self, request: Request, pk: Any) -> Response:
        return self._file(pk, working_days)

    def _file(self, pk: Any, drawn: Callable[[Sheets], bytes]) -> Response:
        content = drawn(stored_sheets(self.instance(pk)))
        headers = {
            # A picture opened by itself runs no script, whatever a name in it says.
            "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
            "X-Content-Type-Options": "nosniff",
        }
        return Response(content, content_type=_FILES[str(self.action)], headers=headers)

    def takes(self, action: str) -> Any:
        if action in _FILES:
            return None
        return {"planning": Planning, "wishes": Wish}.get(action) or super().takes(action)

    def example_request(self, action: str) -> Any:
        own = {
            "planning": {"anew": False},
            "wishes": {"kind": "paintwork", "task": "refinish", "reason": "the left door"},
        }
        return own.get(action) or super().example_request(action)

    def example_answer(self, action: str) -> Any:
        return None if action in _FILES else super().example_answer(action)


def _people(plans: list[Any]) -> defaultdict[Any, list[Row]]:
    found: defaultdict[Any, list[Row]] = defaultdict(list)
    names = ("plan_id", "name", "hours", "skills", "away", "cost_per_hour")
    rows = PlanPerson.objects.filter(plan__in=plans).order_by("plan_id", "sequence")
    for row in rows.values(*names):
        found[row.pop("plan_id")].append(row)
    return found


def _resources(plans: list[Any]) -> defaultdict[Any, list[Row]]:
    found: defaultdict[Any, list[Row]] = defaultdict(list)
    names = ("plan_id", "name", "capacity", "daily_cost", "whole_span")
    lists = ("weekdays", "closed", "used_for")
    rows = PlanResource.objects.filter(plan__in=plans).order_by("plan_id", "sequence")
    for row in rows.values(*names, *lists):
        found[row.pop("plan_id")].append(row)
    return found


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise query_refusal({"on": f"{text!r} is no day; write for example 2026-11-28."}) from None
