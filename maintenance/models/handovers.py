from django.db import models

from maintenance.models.base import Identified
from maintenance.models.collections import Collection
from maintenance.models.vehicles import Vehicle


class Handover(Identified):
    """A car on its way from one collection to another, for the length of one transaction.

    While this row stands, and only then, the database lets records change from the one collection
    to the other; nothing else of them may change even then.
    """

    vehicle = models.OneToOneField(Vehicle, on_delete=models.PROTECT, related_name="+")
    from_collection = models.ForeignKey(Collection, on_delete=models.PROTECT, related_name="+")
    to_collection = models.ForeignKey(Collection, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(from_collection=models.F("to_collection")),
                name="handover_leads_elsewhere",
            )
        ]

    def __str__(self) -> str:
        return f"{self.vehicle_id} to {self.to_collection_id}"
