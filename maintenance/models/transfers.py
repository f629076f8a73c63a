from django.conf import settings
from django.db import models
from django.db.models import Q

from maintenance.models.base import TenantRow
from maintenance.models.collections import Member
from maintenance.models.vehicles import Vehicle


class Transfer(TenantRow):
    """A car on offer: to another keeper of its collection, or to whoever has the code elsewhere.

    It belongs to the collection that gives. Once the car has gone to another collection, this row
    is what the old one keeps of it: its mark, the day, and the head of its history on that day.
    """

    class State(models.TextChoices):
        OFFERED = "offered"
        DONE = "done"
        REFUSED = "refused"
        WITHDRAWN = "withdrawn"
        EXPIRED = "expired"

    vehicle = models.ForeignKey(
        Vehicle,
        null=True,
        on_delete=models.SET_NULL,
        related_name="transfers",
        help_text="Empty once the car has left the collection.",
    )
    registration = models.CharField(max_length=20)
    make = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    elsewhere = models.BooleanField(help_text="Whether it goes to another collection.")
    to_keeper = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    email = models.EmailField(blank=True, help_text="Where the code is sent, if anywhere.")
    digest = models.CharField(max_length=64, unique=True, null=True, editable=False)
    state = models.CharField(max_length=9, choices=State.choices, default=State.OFFERED)
    offered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    offered_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    officer_confirmed_at = models.DateTimeField(null=True, blank=True)
    keeper_confirmed_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    on = models.DateField(null=True, blank=True, help_text="Local day on which the car went over.")
    history_length = models.PositiveIntegerField(
        null=True, blank=True, help_text="Records that went with the car."
    )
    history_head = models.CharField(
        max_length=64, blank=True, help_text="Digest of the last of them."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle"], condition=Q(state="offered"), name="a_car_is_offered_once"
            ),
            models.CheckConstraint(
                condition=Q(elsewhere=True, digest__isnull=False, to_keeper__isnull=True)
                | Q(elsewhere=False, digest__isnull=True),
                name="a_code_leads_elsewhere_alone",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.registration}: {self.state}"
