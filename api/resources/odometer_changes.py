"""An odometer exchanged for another: what the old and the new one showed that day."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfHistory
from api.resources.recorded import EXAMPLE_ORIGIN, Corrected, Correcting, RecordSerializer
from api.shapes import Row
from maintenance.models import OdometerChange, Vehicle
from maintenance.services import odometer
from maintenance.services.drafts import OdometerChangeDraft


class OdometerChangeSerializer(RecordSerializer):
    """Both values are that day's readings, in the unit of the vehicle's odometer."""

    odometer_unit = serializers.CharField(source="vehicle.odometer_unit", read_only=True)

    class Meta(RecordSerializer.Meta):
        model = OdometerChange
        fields = (
            *RecordSerializer.Meta.fields,
            *("on", "old_value", "new_value", "odometer_unit"),
        )


class OdometerChangeCorrection(Correcting, OdometerChangeSerializer):
    """What the two instruments really showed."""


class OdometerChanges(Corrected):
    """Instruments exchanged, so that distance goes on across the change."""

    noun, nouns = "odometer change", "odometer changes"
    serializer_class = OdometerChangeSerializer
    correction_class = OdometerChangeCorrection
    filterset_class = OfHistory
    example = EXAMPLE_ORIGIN | {
        "on": "2021-05-17",
        "old_value": 99120,
        "new_value": 0,
        "odometer_unit": "mi",
    }

    def get_queryset(self) -> QuerySet[OdometerChange]:
        return self.in_sight(OdometerChange.objects.all())

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> OdometerChange:
        return odometer.record_change(vehicle=vehicle, draft=OdometerChangeDraft(**given), **when)

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> OdometerChange:
        draft = OdometerChangeDraft(**given)
        return odometer.correct_change(change=record, draft=draft, reason=reason, **when)
