from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.vehicles import Vehicle


class Postponement(Evidence):
    """The word of somebody who puts a due item off: until when, and why.

    It stands beside the item and changes nothing of it. It holds for one cycle of the item: once
    the work is done it is past, like the work it put off.
    """

    TEXTS = ("reason", "why")

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="postponements")
    item_key = models.CharField(max_length=80, help_text="The key of the due item.")
    cycle = models.CharField(
        max_length=10, blank=True, help_text="Day its clock started; empty where none is known."
    )
    kind = models.CharField(max_length=60)
    position = models.CharField(max_length=60, blank=True)
    rule = models.CharField(max_length=160)
    until = models.DateField(help_text="Last day for which it is put off.")
    why = models.TextField(help_text="Why it can wait so long.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(why=""), name="postponement_says_why"),
            models.UniqueConstraint(
                fields=["vehicle", "item_key", "cycle"],
                condition=models.Q(current=True, withdrawn=False),
                name="one_postponement_in_force",
            ),
            a_reason_with_every_correction("postponement"),
        ]

    def __str__(self) -> str:
        return f"{self.rule} put off until {self.until}"
