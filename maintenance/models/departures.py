from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.vehicles import Vehicle


class Departure(Evidence):
    """That a car has left the collection: its record stays and can be read, and is closed.

    A car that comes back has its departure withdrawn.
    """

    TEXTS = ("reason", "note")

    class How(models.TextChoices):
        SOLD = "sold", "sold"
        EXPORTED = "exported", "exported"
        BROKEN_UP = "broken_up", "broken up"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="departures")
    on = models.DateField(help_text="First day on which the car was gone.")
    how = models.CharField(max_length=10, choices=How.choices)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle"],
                condition=models.Q(current=True, withdrawn=False),
                name="one_departure_in_force",
            ),
            a_reason_with_every_correction("departure"),
        ]

    def __str__(self) -> str:
        return f"{self.get_how_display()} on {self.on}"
