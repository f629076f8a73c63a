from django.db import models

from maintenance.models.base import Editable
from maintenance.models.vehicles import Vehicle


class StoreClimateRecord(Editable):
    """What was measured of a store's air: one row a store, its readings as columns in day order.

    The columns are read whole or not at all, so they are kept as lists rather than rows.
    """

    store = models.CharField(max_length=80, help_text="What the keepers call the store.")
    outdoors = models.BooleanField(
        default=False, help_text="Whether sun, rain and ozone reach the cars."
    )
    days = models.JSONField(help_text="Day of each reading, days since 1970-01-01.")
    temperature_c = models.JSONField(help_text="Air temperature of each reading [°C].")
    humidity = models.JSONField(help_text="Relative humidity of each reading [%RH].")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["collection", "store"], name="store_once_in_a_collection"
            ),
        ]

    def __str__(self) -> str:
        return self.store


class KeptIn(Editable):
    """A car that is laid up in a store whose climate is measured, from a day on or until another.

    Its lay-ups that begin in that time take the store's climate in place of their grade's.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="kept_in")
    store = models.ForeignKey(StoreClimateRecord, on_delete=models.CASCADE, related_name="cars")
    from_on = models.DateField(help_text="First day on which a lay-up begun is in this store.")
    to_on = models.DateField(
        null=True, blank=True, help_text="First day on which it is no longer; empty while it is."
    )

    class Meta:
        verbose_name_plural = "cars kept in stores"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(to_on__isnull=True) | models.Q(to_on__gt=models.F("from_on")),
                name="kept_in_a_store_forward",
            ),
            models.UniqueConstraint(
                fields=["vehicle", "from_on"], name="one_store_a_day_for_a_car"
            ),
        ]

    def __str__(self) -> str:
        return f"in {self.store} from {self.from_on}"
