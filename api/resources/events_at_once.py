"""Many service events in one request: all of them are recorded, or none."""

import uuid
from typing import Any

from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.openapi import NounSchema
from api.pointers import errors_by_pointer
from api.problems import Refusal
from api.resources.base import Resource
from api.resources.service_event_shapes import ServiceEventSerializer, cars_moved_to, event_draft
from api.serializers import StrictSerializer, VehicleInSight
from maintenance.models import Vehicle
from maintenance.queries.today import this_instant
from maintenance.services.events_at_once import Asked, record_service_events
from maintenance.services.refusals import Problem, Refused

MOST = 1000
SAID = {"at_once": ("Record many service events at once", "record_service_events_at_once")}
_IDS = ["01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c", "01931b5e-7f03-7c31-8f2a-5a6c0f1e2d3f"]


class _OneOfMany(VehicleInSight):
    """A car among those that were read for the whole request."""

    def to_internal_value(self, data: Any) -> Vehicle:
        found: Vehicle | None = self.context["cars"].get(
            serializers.UUIDField().run_validation(data)
        )
        if found is None:
            self.fail("does_not_exist", pk_value=data)
        return found


class ServiceEventAmongMany(ServiceEventSerializer):
    """An event; its vehicle may be another than that of its neighbour."""

    vehicle = _OneOfMany(help_text="Identifier of the vehicle.")


class _Envelope(StrictSerializer):
    service_events = serializers.ListField(
        min_length=1,
        max_length=MOST,
        error_messages={
            "min_length": "is empty; send 1 to 1000 events.",
            "max_length": "has more than {max_length} events; send them in several requests, "
            "each under an Idempotency-Key of its own.",
        },
    )


class ServiceEventsAtOnce(StrictSerializer):
    """Up to a thousand events, of any cars on which you may record."""

    service_events: Any = serializers.ListSerializer(
        child=ServiceEventAmongMany(), min_length=1, max_length=MOST
    )


class ServiceEventsRecorded(serializers.Serializer[Any]):
    """What was recorded."""

    service_events = serializers.ListField(
        child=serializers.UUIDField(), help_text="Identifiers, in the order of the request."
    )


class AtOnceSchema(NounSchema):
    """Describes a call whose answer has no address of its own."""

    def get_override_parameters(self) -> list[Any]:
        return [each for each in super().get_override_parameters() if each.name != "Location"]


class EventsAtOnce(Resource):
    """Gives service events a call that records many."""

    verbs = Resource.verbs | {"at_once": "record"}

    @action(detail=False, methods=["post"], url_path="bulk", schema=AtOnceSchema())
    def at_once(self, request: Request) -> Response:
        rows = self.given(_Envelope)["service_events"]
        asked, others, faults = self._read(rows)
        self._require_rights([(each.pointer, each.vehicle) for each in asked] + others)
        made = record_service_events(asked=asked, faults=faults, by=self.account, at=this_instant())
        said = {"service_events": [event.pk for event in made]}
        return Response(said, status=status.HTTP_201_CREATED)

    def _read(
        self, rows: list[Any]
    ) -> tuple[list[Asked], list[tuple[str, Vehicle]], list[Problem]]:
        """Return the events that can be read, other cars to which their parts go, and faults."""
        context = {**self.get_serializer_context(), "cars": self._cars(rows)}
        serializer = ServiceEventAmongMany(context=context)
        asked, others, faults = [], [], []
        for place, row in enumerate(rows):
            pointer = f"/service_events/{place}"
            try:
                given = dict(serializer.run_validation(row))
            except ValidationError as wrong:
                lines = errors_by_pointer(wrong.detail)
                faults += [Problem(pointer + line["pointer"], line["detail"]) for line in lines]
                continue
            vehicle = given.pop("vehicle")
            others += [(pointer, car) for car in cars_moved_to(given)]
            try:
                draft = event_draft(given, vehicle)
            except Refused as refused:
                faults += [problem.under(pointer) for problem in refused.problems]
                continue
            asked.append(Asked(pointer=pointer, vehicle=vehicle, draft=draft))
        return asked, others, faults

    def _cars(self, rows: list[Any]) -> dict[uuid.UUID, Vehicle]:
        named = set()
        for row in rows:
            try:
                named.add(uuid.UUID(row["vehicle"]))
            except (KeyError, TypeError, ValueError, AttributeError):
                continue  # told with everything else that is wrong with the row
        cars = self.sight.vehicles().filter(pk__in=named).select_related("collection")
        return {car.pk: car for car in cars}

    def _require_rights(self, cars: list[tuple[str, Vehicle]]) -> None:
        text = "Your role in the collection does not record on this car."
        lines = [
            {"pointer": f"{pointer}/vehicle", "detail": text}
            for pointer, vehicle in cars
            if not self.may(vehicle)
        ]
        if lines:
            raise Refusal("not-permitted", f"{lines[0]['pointer']}: {text}", lines)

    def takes(self, action: str) -> Any:
        return ServiceEventsAtOnce if action == "at_once" else super().takes(action)

    def answers(self, action: str) -> Any:
        return ServiceEventsRecorded if action == "at_once" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        return {"service_events": _IDS} if action == "at_once" else super().example_answer(action)

    def example_request(self, action: str) -> Any:
        if action != "at_once":
            return super().example_request(action)
        one = super().example_request("create")
        return {"service_events": [one, one | {"on": "2026-06", "entries": one["entries"][:1]}]}
