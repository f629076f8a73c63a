"""What a service event looks like over HTTP: the event, its entries and their measurements."""

from collections.abc import Iterable, Iterator

from rest_framework import serializers

from api.resources.recorded import Correcting, RecordSerializer
from api.serializers import StrictModelSerializer, StrictSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import Entry, Measurement, ServiceEvent, Vehicle
from maintenance.services.drafts import (
    Destination,
    EntryDraft,
    MeasurementDraft,
    Place,
    ServiceEventDraft,
)
from maintenance.services.refusals import Problem, refuse_if_any


class PlaceSerializer(StrictSerializer):
    """A component of the car, by its kind and position."""

    kind = serializers.CharField(
        source="component.kind", max_length=60, help_text="Slug of the component kind."
    )
    position = serializers.CharField(
        source="component.position",
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="Where on the car; empty where there is only one.",
    )


class MeasurementSerializer(StrictModelSerializer):
    """A quantity read, with its unit."""

    class Meta:
        model = Measurement
        fields = ("quantity", "value", "unit")


class DestinationSerializer(StrictSerializer):
    """Where a move takes the part: to a place of its kind, on this car or another, or a shelf."""

    component = serializers.UUIDField(
        source="id", read_only=True, help_text="Identifier of the place."
    )
    vehicle = VehicleInSight(
        required=False, help_text="Identifier of the car; left out if it is the same."
    )
    position = serializers.CharField(
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="Where on that car; empty where there is only one place of the kind.",
    )


class EntrySerializer(StrictModelSerializer):
    """One action on one component of the car."""

    kind = serializers.CharField(
        source="component.kind", max_length=60, help_text="Slug of the component kind."
    )
    position = serializers.CharField(
        source="component.position",
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="Where on the car; empty where there is only one.",
    )
    carried_over = PlaceSerializer(
        many=True, required=False, help_text="Parts that the renewal of an assembly left as was."
    )
    measurement = MeasurementSerializer(required=False, allow_null=True)
    to = DestinationSerializer(
        source="moved_to",
        required=False,
        allow_null=True,
        help_text="Where the part went; for the action move, and only for that.",
    )

    class Meta:
        model = Entry
        fields = (
            *("id", "component", "kind", "position", "action", "manufactured", "date_code"),
            *("manufactured_on", "part_number", "supplier", "price", "carried_over"),
            *("measurement", "note", "to"),
        )
        read_only_fields = ("id", "component", "manufactured_on")


class ServiceEventSerializer(RecordSerializer):
    """An event; `on` is a date, or a month or year where no more is known."""

    on = serializers.RegexField(
        r"^\d{4}(-\d{2}(-\d{2})?)?$",
        source="on_stated",
        help_text="A date (2026-05-01), or a month (2026-05) or year (2026) if no more is known.",
    )
    earliest_on = serializers.DateField(source="on", read_only=True)
    latest_on = serializers.DateField(source="until", read_only=True)
    odometer_unit = serializers.CharField(source="vehicle.odometer_unit", read_only=True)
    entries = EntrySerializer(many=True, required=False)

    class Meta(RecordSerializer.Meta):
        model = ServiceEvent
        fields = (
            *RecordSerializer.Meta.fields,
            *("on", "earliest_on", "latest_on", "odometer", "odometer_unit", "done_by"),
            *("cost", "currency", "note", "entries"),
        )


class ServiceEventCorrection(Correcting, ServiceEventSerializer):
    """What was really done, in full: entries left out are taken as not done."""


def cars_moved_to(given: Row) -> list[Vehicle]:
    """Return the other cars to which the moves of a checked body go."""
    moves = (entry.get("moved_to") or {} for entry in given.get("entries", ()))
    return [move["vehicle"] for move in moves if "vehicle" in move]


def event_draft(given: Row, car: Vehicle) -> ServiceEventDraft:
    """Return a checked body about a car as the services take it; takes the body apart.

    Raises `Refused` for each move to a car of another collection: the draft names cars by their
    marks, which hold within one.
    """
    entries = given.pop("entries", ())
    refuse_if_any(_moves_elsewhere(entries, car))
    drafts = tuple(_entry(each, car) for each in entries)
    return ServiceEventDraft(on=given.pop("on_stated"), entries=drafts, **given)


def _moves_elsewhere(entries: Iterable[Row], car: Vehicle) -> Iterator[Problem]:
    for place, entry in enumerate(entries):
        other = (entry.get("moved_to") or {}).get("vehicle", car)
        if other.collection_id != car.collection_id:
            text = (
                "is a car of another collection, and a part moves between cars of one; what was "
                "taken off for good is the action remove"
            )
            yield Problem(f"/entries/{place}/to/vehicle", text)


def _entry(given: Row, car: Vehicle) -> EntryDraft:
    measurement = given.pop("measurement", None)
    to = given.pop("moved_to", None)
    return EntryDraft(
        place=Place(**given.pop("component")),
        carried_over=tuple(Place(**each["component"]) for each in given.pop("carried_over", ())),
        measurement=MeasurementDraft(**measurement) if measurement else None,
        to=None if to is None else _destination(to, car),
        **given,
    )


def _destination(given: Row, car: Vehicle) -> Destination:
    other = given.get("vehicle", car)
    position = given.get("position", "")
    return Destination(position, "" if other.pk == car.pk else other.registration)
