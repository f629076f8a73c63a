from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.vehicles import Vehicle


class LayUp(Evidence):
    """A period off the road, half-open: the day it ends is a day in use.

    That no two current lay-ups of a car overlap is kept by the database itself: an exclusion
    constraint on PostgreSQL and triggers on SQLite, both made in the first migration.
    """

    class Storage(models.TextChoices):
        HEATED = "heated", "heated and dehumidified"
        DRY = "dry", "unheated, ventilated, dry"
        DAMP = "damp", "unheated and damp, or under a cover"
        OUTDOORS = "outdoors", "in the open"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="lay_ups")
    from_on = models.DateField(help_text="First day off the road.")
    to_on = models.DateField(
        null=True, blank=True, help_text="First day back in use; empty while the lay-up lasts."
    )
    expected_to = models.DateField(null=True, blank=True)
    storage = models.CharField(max_length=10, choices=Storage.choices)
    preparations = models.JSONField(default=list, blank=True)

    class Meta:
        verbose_name = "lay-up"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(to_on__isnull=True) | models.Q(to_on__gt=models.F("from_on")),
                name="lay_up_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(expected_to__isnull=True)
                | models.Q(expected_to__gt=models.F("from_on")),
                name="lay_up_expected_to_end_after_it_begins",
            ),
            models.UniqueConstraint(
                fields=["vehicle"],
                condition=models.Q(to_on__isnull=True, current=True, withdrawn=False),
                name="one_open_lay_up",
            ),
            a_reason_with_every_correction("lay_up"),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="lay_up_in_collection"),
            # All lay-ups of the cars being recomputed: queries.histories.
            models.Index(fields=["vehicle", "from_on"], name="lay_up_by_vehicle_and_day"),
        ]

    def __str__(self) -> str:
        return f"{self.storage} from {self.from_on} to {self.to_on or '…'}"
