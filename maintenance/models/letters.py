from django.db import models
from django.db.models import Q

from maintenance.models.base import TenantRow
from maintenance.models.invitations import Invitation
from maintenance.models.transfers import Transfer


class Letter(TenantRow):
    """A mail to somebody who need not be a member: the row is its place in the outbox.

    What it says is written when it is sent, so that no secret lies here meanwhile. A worker takes
    a letter by pushing `next_at` forward; if it dies, the letter is ready again after that.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        SENT = "sent"
        UNDELIVERED = "undelivered"
        DROPPED = "dropped"

    invitation = models.OneToOneField(
        Invitation, on_delete=models.CASCADE, related_name="letter", null=True
    )
    transfer = models.OneToOneField(
        Transfer, on_delete=models.CASCADE, related_name="letter", null=True
    )
    to = models.EmailField()
    state = models.CharField(max_length=11, choices=State.choices, default=State.WAITING)
    next_at = models.DateTimeField(help_text="UTC instant from which a worker may take it.")
    first_tried_at = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)
    failures = models.PositiveIntegerField(default=0)
    last_error = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(invitation__isnull=False, transfer__isnull=True)
                | Q(invitation__isnull=True, transfer__isnull=False),
                name="a_letter_is_about_one_thing",
            )
        ]
        indexes = [
            # What a worker may take now: reminders.letters.
            models.Index(
                fields=["next_at"], condition=Q(state="waiting"), name="letter_to_be_sent"
            ),
        ]

    def __str__(self) -> str:
        return f"letter {self.state}"
