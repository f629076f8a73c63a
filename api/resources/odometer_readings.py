"""What the odometer showed on a day."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfHistory
from api.resources.recorded import EXAMPLE_ORIGIN, Corrected, Correcting, RecordSerializer
from api.shapes import Row
from maintenance.models import OdometerReading, Vehicle
from maintenance.services import odometer
from maintenance.services.drafts import ReadingDraft


class OdometerReadingSerializer(RecordSerializer):
    """A reading, in the unit of the vehicle's odometer."""

    odometer_unit = serializers.CharField(source="vehicle.odometer_unit", read_only=True)

    class Meta(RecordSerializer.Meta):
        model = OdometerReading
        fields = (*RecordSerializer.Meta.fields, "on", "value", "odometer_unit")


class OdometerReadingCorrection(Correcting, OdometerReadingSerializer):
    """What the odometer really showed."""


class OdometerReadings(Corrected):
    """Readings taken by themselves; those of service events and inspections stand with these."""

    noun, nouns = "odometer reading", "odometer readings"
    serializer_class = OdometerReadingSerializer
    correction_class = OdometerReadingCorrection
    filterset_class = OfHistory
    example = EXAMPLE_ORIGIN | {"on": "2026-10-03", "value": 48210, "odometer_unit": "mi"}

    def get_queryset(self) -> QuerySet[OdometerReading]:
        return self.in_sight(OdometerReading.objects.all())

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> OdometerReading:
        return odometer.record_reading(vehicle=vehicle, draft=ReadingDraft(**given), **when)

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> OdometerReading:
        draft = ReadingDraft(**given)
        return odometer.correct_reading(reading=record, draft=draft, reason=reason, **when)
