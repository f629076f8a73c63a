from django.conf import settings
from django.db import models
from django.db.models import Q

from maintenance.models.base import TenantRow
from maintenance.models.collections import Member


class Invitation(TenantRow):
    """Somebody asked by e-mail to become a member, in a role and with cars to keep.

    Whoever has the secret of the mail may accept, until it expires; a row past `expires_at` may
    still say `open` until somebody else is invited. Only the SHA-256 of the secret
    is kept, and nothing says whether the address belongs to an account.
    """

    class State(models.TextChoices):
        OPEN = "open"
        ACCEPTED = "accepted"
        WITHDRAWN = "withdrawn"
        EXPIRED = "expired"

    email = models.EmailField(help_text="Where the invitation is sent.")
    name = models.CharField(max_length=120, blank=True, help_text="How the member will be called.")
    role = models.CharField(max_length=20, choices=Member.Role.choices)
    vehicles = models.JSONField(
        default=list, help_text="Identifiers of the cars that the member will keep."
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    state = models.CharField(max_length=9, choices=State.choices, default=State.OPEN)
    invited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    invited_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["collection", "email"],
                condition=Q(state="open"),
                name="one_open_invitation_to_an_address",
            ),
            models.CheckConstraint(
                condition=Q(expires_at__gt=models.F("invited_at")),
                name="invitation_expires_after_it_is_made",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.email}: {self.state}"
