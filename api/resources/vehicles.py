"""Cars: who keeps them, what they are, how their odometer counts."""

import datetime
from dataclasses import fields
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfCollection, filters
from api.resources.described import Changing, Kept
from api.resources.history_heads import SAID as HISTORY_HEAD_SAID
from api.resources.history_heads import HistoryHead
from api.resources.what_if import WhatIf
from api.serializers import CollectionInSight, MemberInSight, StrictModelSerializer
from api.shapes import Row
from maintenance.models import Vehicle
from maintenance.queries.departures import departures_of
from maintenance.queries.marks import with_marks
from maintenance.services import vehicles
from maintenance.services.checks.vehicles import vehicle_warnings
from maintenance.services.drafts import VehicleDraft

_DESCRIBED = [field.name for field in fields(VehicleDraft)]


class VehicleSerializer(StrictModelSerializer):
    """A car; `expected_annual_distance` is in the unit of its odometer."""

    collection = CollectionInSight(help_text="Identifier of the collection.")
    keeper = MemberInSight(
        required=False, allow_null=True, help_text="Identifier of the member who keeps the car."
    )
    departure = serializers.CharField(
        read_only=True,
        source="*",
        allow_null=True,
        help_text="How and when the car left the collection; then its record is closed.",
    )
    warnings = serializers.ListField(
        child=serializers.CharField(),
        read_only=True,
        source="*",
        help_text="What is odd about the description and yet no reason to refuse it.",
    )

    class Meta:
        model = Vehicle
        fields = (
            *("id", "collection", "version", "registration", "chassis_number", "make", "model"),
            *("built_on", "first_registered_on", "substantially_changed", "nominal_voltage"),
            *("odometer_unit", "odometer_digits", "inspection_regime"),
            *("expected_annual_distance", "season_from_month", "season_to_month", "keeper"),
            *("departure", "warnings"),
        )
        read_only_fields = ("id", "version")


class VehicleChange(Changing, VehicleSerializer):
    """What of a car may be put right; it stays in its collection."""

    stays = ("collection",)


class VehicleFilters(OfCollection):
    registration = filters.CharFilter(
        method="of_mark", label="Registration mark; capitals and blanks make no difference."
    )
    keeper = filters.UUIDFilter(field_name="keeper_id", label="Identifier of a member.")

    def of_mark(self, cars: QuerySet[Vehicle], name: str, mark: str) -> QuerySet[Vehicle]:
        return with_marks(cars, [mark])


class Vehicles(WhatIf, HistoryHead, Kept):
    """The cars you may see: an officer all of a collection, a keeper their own."""

    noun, nouns = "vehicle", "vehicles"
    verbs = Kept.verbs | WhatIf.verbs | HistoryHead.verbs
    said = {**WhatIf.said, **HISTORY_HEAD_SAID}
    owner = "collection"
    serializer_class = VehicleSerializer
    change_class = VehicleChange
    filterset_class = VehicleFilters
    example = {
        "id": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "version": 1,
        "registration": "VO 1964",
        "chassis_number": "TM4-00817",
        "make": "Tarn",
        "model": "Merle 1200",
        "built_on": "1964-02-11",
        "first_registered_on": "1964-03-02",
        "substantially_changed": False,
        "nominal_voltage": 12,
        "odometer_unit": "mi",
        "odometer_digits": 5,
        "inspection_regime": "gb",
        "expected_annual_distance": 1800,
        "season_from_month": None,
        "season_to_month": None,
        "keeper": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "departure": None,
        "warnings": [],
    }
    example_change = {"expected_annual_distance": 1200}

    def get_queryset(self) -> QuerySet[Vehicle]:
        return self.sight.vehicles()

    def complete(self, items: list[Row]) -> list[Row]:
        gone = departures_of(item["id"] for item in items)
        for item in items:
            left = gone.get(item["id"])
            item["departure"] = None if left is None else str(left)
            draft = VehicleDraft(**{name: item[name] for name in _DESCRIBED})
            item["warnings"] = vehicle_warnings(draft)
        return items

    def add(self, *, given: Row, today: datetime.date) -> Vehicle:
        owner, keeper = given.pop("collection"), given.pop("keeper", None)
        draft = VehicleDraft(**given)
        added, _ = vehicles.add_vehicle(collection=owner, draft=draft, keeper=keeper, today=today)
        return added

    def change(self, *, row: Vehicle, given: Row, today: datetime.date) -> Any:
        return vehicles.change_vehicle(vehicle=row, version=row.version, changes=given, today=today)

    def remove(self, *, row: Vehicle, today: datetime.date) -> None:
        vehicles.remove_vehicle(vehicle=row, version=row.version)
