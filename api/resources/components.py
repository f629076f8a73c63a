"""Components: the places on a car that carry something that ages or wears."""

import datetime

from django.db.models import QuerySet

from api.filters import OfVehicle, filters
from api.resources.described import Changing, Kept
from api.serializers import ComponentInSight, StrictModelSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import Component
from maintenance.services import components


class ComponentSerializer(StrictModelSerializer):
    """A component, of a kind, at a position, perhaps part of another; or a shelf for one."""

    vehicle = VehicleInSight(help_text="Identifier of the vehicle.")
    assembly = ComponentInSight(
        required=False, allow_null=True, help_text="Component of which this one is a part."
    )

    class Meta:
        model = Component
        fields = (
            *("id", "collection", "vehicle", "version", "kind", "position", "assembly"),
            *("storage", "empty_since"),
        )
        read_only_fields = ("id", "collection", "version", "empty_since")


class ComponentFilters(OfVehicle):
    component_kind = filters.CharFilter(field_name="kind", label="Slug of a component kind.")
    assembly = filters.UUIDFilter(field_name="assembly_id", label="Identifier of an assembly.")


class ComponentChange(Changing, ComponentSerializer):
    """Position, assembly and grade of a shelf may be put right; car and kind stay as they are."""

    stays = ("vehicle", "kind")


class Components(Kept):
    """What each car has that ages or wears."""

    noun, nouns = "component", "components"
    serializer_class = ComponentSerializer
    change_class = ComponentChange
    filterset_class = ComponentFilters
    ordering_on_a_car = ("kind", "position", "id")
    example = {
        "id": "01931b5e-7c01-7b22-8a3b-1c2d3e4f5063",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "version": 1,
        "kind": "brake-hose",
        "position": "front left",
        "assembly": None,
        "storage": "",
        "empty_since": None,
    }
    example_change = {"position": "front right"}

    def get_queryset(self) -> QuerySet[Component]:
        return self.in_sight(Component.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> Component:
        return components.add_component(**given, today=today)

    def change(self, *, row: Component, given: Row, today: datetime.date) -> Component:
        return components.change_component(
            component=row, version=row.version, changes=given, today=today
        )

    def remove(self, *, row: Component, today: datetime.date) -> None:
        components.remove_component(component=row, version=row.version, today=today)
