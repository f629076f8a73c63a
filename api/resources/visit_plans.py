"""Plans of visits: asked for, answered, and not kept."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.resources.base import Resource
from api.resources.plan_terms import Span
from api.resources.questions import QuestionSchema
from api.serializers import (
    CollectionInSight,
    NearestChoiceField,
    StrictSerializer,
    VehicleInSight,
)
from api.shapes import Row
from maintenance.models import IntervalRule, Vehicle
from maintenance.queries.departures import still_here
from maintenance.queries.today import today_in
from maintenance.services.plans.offers import usual_currency
from maintenance.services.plans.terms import LONGEST_SEARCH, WEEKDAYS, SpanDraft, VisitDraft
from maintenance.services.plans.visits import visit_plan
from maintenance.services.refusals import Problem, Refused

#: Cars planned at once: the request waits for the search.
MOST_CARS = 60


def _money(text: str) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=12, decimal_places=2, required=False, help_text=f"{text} In the currency."
    )


class VisitQuestion(StrictSerializer):
    """Which cars, and on which terms: those of a collection that you may see, or one."""

    collection = CollectionInSight(required=False, help_text="Identifier of the collection.")
    vehicle = VehicleInSight(required=False, help_text="Identifier of one car instead.")
    months = serializers.IntegerField(required=False, min_value=1, max_value=60)
    cost_of_visit = _money("Bringing one car in for one day.")
    rate_per_hour = _money("An hour of work.")
    late_per_day = _money("A day that an item not of safety is late.")
    currency = serializers.CharField(
        max_length=3, required=False, help_text="Left out: the only one on record, else EUR."
    )
    hours_per_week = serializers.FloatField(
        required=False, min_value=0.5, max_value=168, help_text="Of the workshop [h]."
    )
    weekdays = serializers.ListField(
        child=NearestChoiceField(choices=WEEKDAYS), required=False, min_length=1, max_length=7
    )
    closed = Span(many=True, required=False)
    seed = serializers.IntegerField(required=False, min_value=0, max_value=2**31 - 1)
    time_limit = serializers.IntegerField(required=False, min_value=1, max_value=LONGEST_SEARCH)


class VisitedItem(serializers.Serializer[Any]):
    """What is done at a visit."""

    job = serializers.CharField()
    component = serializers.CharField(help_text="Slug of the component kind.")
    position = serializers.CharField(allow_blank=True)
    task = serializers.CharField()
    criticality = serializers.ChoiceField(choices=IntervalRule.Criticality.choices)
    first_due_on = serializers.DateField(
        allow_null=True, help_text="The first time that it falls due."
    )


class PlannedVisit(serializers.Serializer[Any]):
    """One car in the workshop on one day."""

    vehicle = serializers.CharField(help_text="Registration mark.")
    on = serializers.DateField()
    hours = serializers.FloatField(help_text="Work [h].")
    items = VisitedItem(many=True)


class WayCosts(serializers.Serializer[Any]):
    """What a way of doing the work costs, in the currency."""

    visits = serializers.IntegerField()
    visit_cost = serializers.FloatField()
    given_up = serializers.FloatField(help_text="Life thrown away by doing early.")
    lateness = serializers.FloatField()
    total = serializers.FloatField(help_text="Visits, life given up and lateness.")
    work = serializers.FloatField(help_text="Parts and hours themselves.")
    overdue_safety_days = serializers.IntegerField()
    overdue_other_days = serializers.IntegerField()


class VisitAnswer(serializers.Serializer[Any]):
    """Visits, and two habits for comparison; or why there are none."""

    on = serializers.DateField(help_text="The day asked about.")
    until = serializers.DateField()
    currency = serializers.CharField()
    items = serializers.IntegerField(help_text="Items that fall due in the period.")
    visits = PlannedVisit(many=True)
    costs = WayCosts(allow_null=True)
    each_on_its_day = WayCosts(allow_null=True)
    everything_yearly = WayCosts(allow_null=True)
    gap = serializers.FloatField(allow_null=True, help_text="Most by which a plan could be better.")
    conflict = serializers.CharField(allow_null=True)
    laid_up_for_unknown_time = serializers.ListField(child=serializers.CharField())
    not_to_be_driven_in = serializers.ListField(
        child=serializers.CharField(), help_text="Cars with a dangerous finding, in a sentence."
    )
    note = serializers.CharField()


def _way(visits: int, given_up: float, safety: int, other: int) -> Row:
    return {
        "visits": visits,
        "visit_cost": visits * 60,
        "given_up": given_up,
        "lateness": other,
        "total": visits * 60 + given_up + other,
        "work": 412.5,
        "overdue_safety_days": safety,
        "overdue_other_days": other,
    }


class VisitPlans(Resource):
    """Groups the due items of cars in use into visits; nothing is kept."""

    noun, nouns = "visit plan", "visit plans"
    only_asks = True
    schema = QuestionSchema()
    serializer_class = VisitQuestion
    http_method_names = ["post"]
    pagination_class = None
    verbs = Resource.verbs | {"create": "ask"}
    said = {"create": ("Group due items into visits", "plan_visits")}
    example = {
        "on": "2026-11-25",
        "until": "2028-11-25",
        "currency": "EUR",
        "items": 2,
        "visits": [
            {
                "vehicle": "VO 1964",
                "on": "2027-03-12",
                "hours": 1.25,
                "items": [
                    {
                        "job": "Renew brake fluid",
                        "component": "brake-fluid",
                        "position": "",
                        "task": "renew",
                        "criticality": "safety",
                        "first_due_on": "2027-03-20",
                    }
                ],
            }
        ],
        "costs": _way(1, 4.5, 0, 0),
        "each_on_its_day": _way(2, 0, 0, 0),
        "everything_yearly": _way(2, 61, 115, 40),
        "gap": 4.5,
        "conflict": None,
        "laid_up_for_unknown_time": [],
        "not_to_be_driven_in": [],
        "note": "A plan of visits, not a word on any car's condition.",
    }

    def get_queryset(self) -> QuerySet[Vehicle]:
        return self.sight.vehicles()

    def create(self, request: Request) -> Response:
        given = self.given()
        cars = self._cars(given)
        on = today_in(cars[0].collection)
        return Response(
            visit_plan(vehicles=cars, draft=_draft(given, usual_currency(cars[0])), on=on)
        )

    def _cars(self, given: Row) -> list[Vehicle]:
        vehicle, collection = given.pop("vehicle", None), given.pop("collection", None)
        if (vehicle is None) == (collection is None):
            raise Refused([Problem("", "name a collection or a vehicle, and not both")])
        if vehicle is not None:
            return [vehicle]
        cars = still_here(self.sight.vehicles().filter(collection=collection))
        in_order = cars.select_related("collection").order_by("registration")
        found = list(in_order[: MOST_CARS + 1])
        if not 1 <= len(found) <= MOST_CARS:
            text = f"has {'no car' if not found else f'more than {MOST_CARS} cars'}; name a vehicle"
            raise Refused([Problem("/collection", text)])
        return found

    def answers(self, action: str) -> Any:
        return VisitAnswer

    def example_request(self, action: str) -> Any:
        return {
            "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
            "months": 24,
            "cost_of_visit": 60,
            "rate_per_hour": 45,
            "weekdays": ["tue", "sat"],
            "closed": [{"from": "2027-07-01", "to": "2027-07-14"}],
        }


def _draft(given: Row, currency: str) -> VisitDraft:
    values: Row = {
        "currency": currency or VisitDraft().currency,
        **given,
        "weekdays": tuple(given.get("weekdays", ())) or VisitDraft().weekdays,
        "closed": tuple(SpanDraft(**one) for one in given.get("closed", ())),
    }
    return VisitDraft(**values)
