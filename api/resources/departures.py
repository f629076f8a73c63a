"""Cars that have left the collection, and how."""

from typing import Any

from django.db.models import QuerySet

from api.filters import OfHistory, filters
from api.resources.recorded import EXAMPLE_ORIGIN, Recorded, RecordSerializer
from api.shapes import Row
from maintenance.models import Departure, Vehicle
from maintenance.services.departures import leave


class DepartureSerializer(RecordSerializer):
    """That a car was sold, exported or broken up; `on` is the first day it was gone."""

    class Meta(RecordSerializer.Meta):
        model = Departure
        fields = (*RecordSerializer.Meta.fields, "on", "how", "note")


class DepartureFilters(OfHistory):
    how = filters.ChoiceFilter(choices=Departure.How.choices, label="How the car left.")


class Departures(Recorded):
    """Departures. Each closes the record of its car; withdrawn, it opens it again."""

    noun, nouns = "departure", "departures"
    serializer_class = DepartureSerializer
    filterset_class = DepartureFilters
    why_withdrawn = "The sale fell through."
    example = EXAMPLE_ORIGIN | {"on": "2026-11-20", "how": "sold", "note": "To a member."}

    def get_queryset(self) -> QuerySet[Departure]:
        return self.in_sight(Departure.objects.all())

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> Departure:
        return leave(vehicle=vehicle, **given, **when)
