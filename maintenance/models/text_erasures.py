from django.db import models

from maintenance.models.base import Evidence
from maintenance.models.vehicles import Vehicle


class TextErasure(Evidence):
    """That somebody's name was taken out of a text on record, and how the text reads since.

    A record like any other, in the chain of the car: it vouches for what reads there now, and for
    the fingerprint that stands for what read there before and can't be read out of it.
    """

    TEXTS = ("reason", "now_reads")

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="text_erasures")
    table = models.CharField(max_length=40, help_text="Kind of row that the text is in.")
    erased_in = models.UUIDField(help_text="Identifier of the row that the text is in.")
    field = models.CharField(max_length=20, help_text="Name of the text in its row.")
    fingerprint = models.CharField(
        max_length=64, help_text="Salted SHA-256 of what read there when it was recorded."
    )
    now_reads = models.TextField(help_text="What reads there since.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(supersedes__isnull=True, withdrawn=False),
                name="an_erasure_is_not_taken_back",
            )
        ]
        indexes = [
            # Whether a text may change, asked by the database itself: migrations._evidence.
            models.Index(fields=["erased_in"], name="erasure_by_row"),
        ]

    def __str__(self) -> str:
        return f"{self.field} of {self.table} {self.erased_in}"
