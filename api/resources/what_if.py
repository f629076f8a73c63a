"""Calls on a vehicle that answer what if, check a trip and draw its years; nothing is kept."""

from typing import Any, cast

from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.resources.base import Resource
from api.resources.pictures import PictureSchema, SvgRenderer
from api.resources.question_examples import ANSWERED, ASKED
from api.resources.questions import (
    ANSWERS,
    QUESTIONS,
    SAID,
    QuestionSchema,
    plan_draft,
    trip_draft,
)
from maintenance.models import Vehicle
from maintenance.queries.today import today_in
from maintenance.services.pictures import years_of
from maintenance.services.projection import project
from maintenance.services.trip_check import trip_check


class WhatIf(Resource):
    """Gives a vehicle its questions and its picture; a token that reads may ask for them."""

    verbs = Resource.verbs | {"projection": "ask", "trip_check": "ask", "years": "see"}
    said = SAID | {"years": ("Draw the years of a vehicle", "draw_years_of_vehicle")}

    @action(detail=True, methods=["post"], only_asks=True, schema=QuestionSchema())
    def projection(self, request: Request, pk: Any) -> Response:
        car = cast(Vehicle, self.instance(pk))
        plan = plan_draft(self.given(QUESTIONS["projection"]))
        return Response(project(vehicle=car, plan=plan, on=today_in(car.collection)))

    @action(
        detail=True,
        methods=["post"],
        url_path="trip-check",
        only_asks=True,
        schema=QuestionSchema(),
    )
    def trip_check(self, request: Request, pk: Any) -> Response:
        car = cast(Vehicle, self.instance(pk))
        trip = trip_draft(self.given(QUESTIONS["trip_check"]))
        return Response(trip_check(vehicle=car, trip=trip, on=today_in(car.collection)))

    @action(
        detail=True,
        methods=["get"],
        url_path="years.svg",
        renderer_classes=[SvgRenderer],
        schema=PictureSchema(),
    )
    def years(self, request: Request, pk: Any) -> Response:
        car = cast(Vehicle, self.instance(pk))
        return Response(years_of(vehicle=car, on=today_in(car.collection)))

    def takes(self, action: str) -> Any:
        return QUESTIONS.get(action) or super().takes(action)

    def answers(self, action: str) -> Any:
        return ANSWERS.get(action) or super().answers(action)

    def example_answer(self, action: str) -> Any:
        if action == "years":
            return None
        return ANSWERED.get(action) or super().example_answer(action)

    def example_request(self, action: str) -> Any:
        return ASKED.get(action) or super().example_request(action)
