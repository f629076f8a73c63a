from django.db import models

from maintenance.models.base import Editable
from maintenance.models.vehicles import Vehicle


class SpecificationLine(Editable):
    """One figure of a car's specification sheet, with the page of the handbook it came from.

    Tyre sizes and pressures, fluid bases and grades, battery voltage, clearances and gaps.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="specification")
    item = models.CharField(max_length=120, help_text="For example `contact-breaker gap`.")
    value = models.CharField(max_length=120)
    unit = models.CharField(max_length=20, blank=True)
    handbook_page = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "item"],
                name="specified_once_on_a_car",
                violation_error_message=(
                    "The car's sheet has a line for this item already; change that one."
                ),
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="specification_in_collection"),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.value} {self.unit}".strip()
