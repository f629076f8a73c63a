from django.db import models

from maintenance.models.base import Editable
from maintenance.models.vehicles import Vehicle


class Paper(Editable):
    """A dated paper or piece of kit that goes with a car and runs out on a day."""

    class Kind(models.TextChoices):
        INSURANCE = "insurance"
        VEHICLE_TAX = "vehicle-tax", "vehicle tax"
        OFF_ROAD_DECLARATION = "off-road-declaration", "off-road declaration"
        BREAKDOWN_COVER = "breakdown-cover", "breakdown cover"
        AGREED_VALUE = "agreed-value-certificate", "agreed-value certificate"
        FIRE_EXTINGUISHER = "fire-extinguisher", "fire extinguisher"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=30, choices=Kind.choices)
    issuer = models.CharField(max_length=120, blank=True)
    number = models.CharField(max_length=60, blank=True)
    from_on = models.DateField(null=True, blank=True, help_text="First day of validity.")
    until = models.DateField(help_text="Last day of validity.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(from_on__isnull=True) | models.Q(until__gte=models.F("from_on")),
                name="paper_runs_forward",
                violation_error_message=(
                    "A paper does not end before its first day; check both days."
                ),
            ),
            models.UniqueConstraint(
                fields=["vehicle", "kind", "number", "until"],
                name="paper_once_on_a_car",
                violation_error_message=(
                    "The car has a paper of this kind, number and last day already."
                ),
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="paper_in_collection"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} until {self.until}"
