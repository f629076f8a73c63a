"""Dated papers and kit that go with a car: insurance, tax, certificates, fire extinguishers."""

import datetime
from typing import Any

from django.db.models import QuerySet

from api.filters import OfVehicle, filters
from api.resources.described import Changing, Kept
from api.serializers import StrictModelSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import Paper
from maintenance.services import papers
from maintenance.services.drafts import PaperDraft


class PaperSerializer(StrictModelSerializer):
    """A paper, valid up to and including its last day."""

    vehicle = VehicleInSight(help_text="Identifier of the vehicle.")

    class Meta:
        model = Paper
        fields = (
            *("id", "collection", "vehicle", "version", "kind", "issuer", "number"),
            *("from_on", "until"),
        )
        read_only_fields = ("id", "collection", "version")
        shown_as = {"from_on": "from"}


class PaperChange(Changing, PaperSerializer):
    """What of a paper may be put right; it stays with its car."""

    stays = ("vehicle",)


class PaperFilters(OfVehicle):
    kind = filters.ChoiceFilter(choices=Paper.Kind.choices, label="Kind of paper.")


class Papers(Kept):
    """Papers; each falls due on its last day."""

    noun, nouns = "paper", "papers"
    serializer_class = PaperSerializer
    change_class = PaperChange
    filterset_class = PaperFilters
    ordering_on_a_car = ("kind", "until", "id")
    example = {
        "id": "01931b5e-7d00-7b22-8a3b-1c2d3e4f5071",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "version": 1,
        "kind": "insurance",
        "issuer": "Orrin Mutual",
        "number": "OM-20417",
        "from": "2026-03-01",
        "until": "2027-02-28",
    }
    example_change = {"until": "2027-03-31"}

    def get_queryset(self) -> QuerySet[Paper]:
        return self.in_sight(Paper.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> Paper:
        vehicle = given.pop("vehicle")
        return papers.add_paper(vehicle=vehicle, draft=PaperDraft(**given), today=today)

    def change(self, *, row: Paper, given: Row, today: datetime.date) -> Any:
        return papers.change_paper(paper=row, version=row.version, changes=given, today=today)

    def remove(self, *, row: Paper, today: datetime.date) -> None:
        papers.remove_paper(paper=row, version=row.version, today=today)
