"""The specification sheet of a car, line by line, each with the page of the handbook."""

import datetime
from typing import Any

from django.db.models import QuerySet

from api.filters import OfVehicle, filters
from api.resources.described import Changing, Kept
from api.serializers import StrictModelSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import SpecificationLine
from maintenance.services import specification
from maintenance.services.drafts import SpecificationDraft


class SpecificationLineSerializer(StrictModelSerializer):
    """One figure of the sheet with its unit; the maker's handbook goes before any other."""

    vehicle = VehicleInSight(help_text="Identifier of the vehicle.")

    class Meta:
        model = SpecificationLine
        fields = (
            *("id", "collection", "vehicle", "version"),
            *("item", "value", "unit", "handbook_page"),
        )
        read_only_fields = ("id", "collection", "version")


class SpecificationLineChange(Changing, SpecificationLineSerializer):
    """What of a line may be put right; it stays with its car."""

    stays = ("vehicle",)


class SpecificationLineFilters(OfVehicle):
    item = filters.CharFilter(label="What the line is about, in full.")


class SpecificationLines(Kept):
    """Tyre sizes and pressures, fluids, voltages, clearances and gaps."""

    noun, nouns = "specification line", "specification lines"
    serializer_class = SpecificationLineSerializer
    change_class = SpecificationLineChange
    filterset_class = SpecificationLineFilters
    ordering_on_a_car = ("item", "id")
    example = {
        "id": "01931b5e-7e00-7b22-8a3b-1c2d3e4f5081",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "version": 1,
        "item": "contact-breaker gap",
        "value": "0.40",
        "unit": "mm",
        "handbook_page": "47",
    }
    example_change = {"value": "0.38"}

    def get_queryset(self) -> QuerySet[SpecificationLine]:
        return self.in_sight(SpecificationLine.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> SpecificationLine:
        vehicle = given.pop("vehicle")
        draft = SpecificationDraft(**given)
        return specification.add_specification_line(vehicle=vehicle, draft=draft)

    def change(self, *, row: SpecificationLine, given: Row, today: datetime.date) -> Any:
        return specification.change_specification_line(line=row, version=row.version, changes=given)

    def remove(self, *, row: SpecificationLine, today: datetime.date) -> None:
        specification.remove_specification_line(line=row, version=row.version)
