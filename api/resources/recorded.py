"""Evidence over HTTP: recorded once, corrected or withdrawn by a later record that says why."""

from typing import Any

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.resources.base import Listed
from api.serializers import StrictModelSerializer, StrictSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import Vehicle
from maintenance.queries.today import this_instant
from maintenance.services import evidence
from maintenance.services.undo import undo

#: What every record says of itself; all but the vehicle is set by the server.
ORIGIN = ("recorded_at", "recorded_by", "current", "withdrawn", "supersedes", "reason")

WHY = "The page was misread: the lining measured 4.1 mm, not 1.4 mm."

EXAMPLE_ORIGIN: Row = {
    "id": "01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
    "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
    "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
    "recorded_at": "2026-11-25T09:30:00Z",
    "recorded_by": "01931b5e-7900-7f00-a111-223344556677",
    "current": True,
    "withdrawn": False,
    "supersedes": None,
    "reason": "",
}


class RecordSerializer(StrictModelSerializer):
    """A record on a car; `Meta.fields` of each noun begins with what all have."""

    vehicle = VehicleInSight(help_text="Identifier of the vehicle.")

    class Meta:
        fields: tuple[str, ...] = ("id", "collection", "vehicle", *ORIGIN)
        read_only_fields = ("id", "collection", *ORIGIN)


class Correcting:
    """Turns the serializer of a record into that of its correction: same car, and a reason."""

    def get_fields(self) -> dict[str, Any]:
        fields: dict[str, Any] = super().get_fields()  # type: ignore[misc]
        del fields["vehicle"]
        fields["reason"] = serializers.CharField(
            max_length=2000, help_text="Why the record before it was wrong."
        )
        return fields


class Withdrawal(StrictSerializer):
    """Why a record is taken back, with nothing put in its place."""

    reason = serializers.CharField(max_length=2000, help_text="Why the record is taken back.")


class Undoing(StrictSerializer):
    """Why a correction or withdrawal is undone."""

    reason = serializers.CharField(
        max_length=2000, help_text="Why the correction or withdrawal was wrong."
    )


class Recorded(Listed):
    """A noun of evidence; it knows no change in place."""

    verbs = Listed.verbs | {"create": "record", "withdrawal": "correct"}
    ordering_on_a_car = ("on", "id")
    #: An example of why a record is taken back.
    why_withdrawn = "Entered on the wrong car."

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> Any:
        """Ask the service that records; returns the record."""
        raise NotImplementedError

    def create(self, request: Request) -> Response:
        given = self.given()
        vehicle = given.pop("vehicle")
        made = self.record(vehicle=vehicle, given=given, **self.by_and_when(vehicle))
        return self.created(made.pk)

    @action(detail=True, methods=["post"])
    def withdrawal(self, request: Request, pk: Any) -> Response:
        record = self.instance(pk)
        when = self.by_and_when(record.vehicle)
        made = evidence.withdraw(record=record, reason=self.given(Withdrawal)["reason"], **when)
        return self.created(made.pk)

    def by_and_when(self, vehicle: Vehicle) -> dict[str, Any]:
        """Return who records, at which instant and local day; refuse who may not."""
        if not self.may(vehicle):
            raise PermissionDenied("Your role in the collection does not record on this car.")
        at = this_instant()
        return {
            "by": self.account,
            "at": at,
            "today": at.astimezone(vehicle.collection.zone).date(),
        }

    def takes(self, action: str) -> Any:
        return Withdrawal if action == "withdrawal" else super().takes(action)

    def example_request(self, action: str) -> Any:
        if action == "withdrawal":
            return {"reason": self.why_withdrawn}
        return super().example_request(action)


class Corrected(Recorded):
    """A noun of evidence that says something by itself, and may have said it wrongly."""

    verbs = Recorded.verbs | {"corrections": "correct", "undo": "correct"}
    correction_class: type[serializers.BaseSerializer[Any]]

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> Any:
        """Ask the service that corrects; returns the record that supersedes."""
        raise NotImplementedError

    @action(detail=True, methods=["post"])
    def corrections(self, request: Request, pk: Any) -> Response:
        record = self.instance(pk)
        when = self.by_and_when(record.vehicle)
        given = self.given(self.correction_class)
        reason = given.pop("reason")
        made = self.correct(record=record, given=given, reason=reason, **when)
        return self.created(made.pk)

    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: Any) -> Response:
        record = self.instance(pk)
        when = self.by_and_when(record.vehicle)
        made = undo(record=record, reason=self.given(Undoing)["reason"], **when)
        return self.created(made.pk)

    def takes(self, action: str) -> Any:
        if action == "undo":
            return Undoing
        return self.correction_class if action == "corrections" else super().takes(action)

    def example_request(self, action: str) -> Any:
        if action == "undo":
            return {"reason": "It was on this car after all."}
        given = super().example_request(action)
        return given and (given | {"reason": WHY} if action == "corrections" else given)
