from django.db import models

from maintenance.models.base import Editable
from maintenance.models.lay_ups import LayUp
from maintenance.models.vehicles import Vehicle


class Component(Editable):
    """A place that carries something that ages or wears: on the car, or a shelf for its parts.

    What lies on a shelf ages in its storage grade and covers no distance. `empty_since` is stored
    with the due items: a place from which the part was removed or moved away is asked nothing.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="components")
    kind = models.CharField(max_length=60, help_text="Slug of the component kind.")
    position = models.CharField(
        max_length=60, blank=True, help_text="Where on the car, for example `front left`."
    )
    assembly = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="parts"
    )
    storage = models.CharField(
        max_length=10,
        choices=LayUp.Storage.choices,
        blank=True,
        help_text="Storage grade of a shelf where a part of the car lies; empty on the car.",
    )
    empty_since = models.DateField(
        null=True,
        editable=False,
        help_text="Day on which the part was removed or moved away; empty while one is there, and "
        "on a shelf that was never used.",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "kind", "position"],
                name="position_of_a_kind_once_on_a_car",
                violation_error_message=(
                    "The car has a component of this kind and position already."
                ),
            ),
            models.CheckConstraint(
                condition=~models.Q(assembly=models.F("id")),
                name="no_part_of_itself",
                violation_error_message=(
                    "A component is no part of itself; name the assembly that holds it."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(storage="") | models.Q(assembly__isnull=True),
                name="shelf_belongs_to_no_assembly",
                violation_error_message=(
                    "A shelf belongs to no assembly; leave one of the two empty."
                ),
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="component_in_collection"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.position}".strip()
