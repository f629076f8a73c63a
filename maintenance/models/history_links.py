from django.db import models

from maintenance.models.base import TenantRow
from maintenance.models.vehicles import Vehicle


class HistoryLink(TenantRow):
    """A record's place in the chain of its car: what it said when it was written, and after which.

    `digest` is the SHA-256 of `previous` and the record's canonical JSON (`services.chain`), in
    hexadecimal. There is no foreign key to the record: the link outlives whatever becomes of it,
    so that its absence can be told.
    """

    class Kind(models.TextChoices):
        ODOMETER_READING = "odometer-reading", "odometer reading"
        ODOMETER_CHANGE = "odometer-change", "odometer change"
        LAY_UP = "lay-up"
        SERVICE_EVENT = "service-event", "service event"
        INSPECTION = "inspection"
        ATTACHMENT = "attachment"
        POSTPONEMENT = "postponement"
        DEPARTURE = "departure"
        ARRIVAL = "arrival"
        TEXT_ERASURE = "text-erasure", "erasure of a text"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="history_links")
    sequence = models.PositiveIntegerField(help_text="Place in the chain of the car, from 1.")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    record = models.UUIDField(help_text="Identifier of the record.")
    previous = models.CharField(
        max_length=64, blank=True, help_text="Digest of the link before; empty on the first."
    )
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            # Also how the head of a car is found: queries.history_heads.
            models.UniqueConstraint(
                fields=["vehicle", "sequence"], name="one_link_a_place_in_the_chain"
            ),
            models.UniqueConstraint(fields=["kind", "record"], name="a_record_is_chained_once"),
        ]

    def __str__(self) -> str:
        return f"{self.sequence}: {self.get_kind_display()} {self.record}"
