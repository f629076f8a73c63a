from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.vehicles import Vehicle


class OdometerReading(Evidence):
    """What the odometer showed on a day, in the vehicle's odometer unit."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="odometer_readings")
    on = models.DateField()
    value = models.DecimalField(max_digits=8, decimal_places=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(value__gte=0), name="no_negative_odometer_reading"
            ),
            a_reason_with_every_correction("odometer_reading"),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="reading_in_collection"),
            # All readings of the cars being recomputed: queries.histories.
            models.Index(fields=["vehicle", "on"], name="reading_by_vehicle_and_day"),
        ]

    def __str__(self) -> str:
        return f"{self.value} on {self.on}"


class OdometerChange(Evidence):
    """An instrument exchanged: both values are that day's readings, of the old and the new one."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="odometer_changes")
    on = models.DateField()
    old_value = models.DecimalField(max_digits=8, decimal_places=1)
    new_value = models.DecimalField(max_digits=8, decimal_places=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(old_value__gte=0, new_value__gte=0),
                name="no_negative_odometer_change",
            ),
            models.UniqueConstraint(
                fields=["vehicle", "on"],
                condition=models.Q(current=True, withdrawn=False),
                name="one_odometer_change_a_day",
            ),
            a_reason_with_every_correction("odometer_change"),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="odometer_change_in_collection"),
        ]

    def __str__(self) -> str:
        return f"{self.old_value} → {self.new_value} on {self.on}"
