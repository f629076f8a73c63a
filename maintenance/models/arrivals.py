from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.components import Component
from maintenance.models.service_events import Entry
from maintenance.models.vehicles import Vehicle


class Arrival(Evidence):
    """That a part came to this car from another one: what the other car's record says, here too.

    Written with the move and withdrawn with it, so that the history of either car tells of it.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="arrivals")
    on = models.DateField(help_text="Day of the move.")
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, related_name="+", help_text="Place it came to."
    )
    from_component = models.ForeignKey(
        Component, on_delete=models.PROTECT, related_name="+", help_text="Place it came from."
    )
    move = models.ForeignKey(
        Entry, on_delete=models.PROTECT, related_name="arrivals", help_text="The other car's entry."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["move"],
                condition=models.Q(current=True, withdrawn=False),
                name="one_arrival_a_move",
            ),
            a_reason_with_every_correction("arrival"),
        ]

    def __str__(self) -> str:
        return f"{self.component} on {self.on}"
