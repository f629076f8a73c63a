from django.contrib.auth.models import AbstractUser
from django.db import models

from maintenance.models.base import Identified, new_id


class Account(AbstractUser):
    """A person who can sign in; what they may see follows from their memberships."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    password_mail_at = models.DateTimeField(
        null=True,
        editable=False,
        help_text="When a link to a new password was last sent; the next one waits a while.",
    )


class AccessToken(Identified):
    """A key for another program. Only its SHA-256 is kept; the text is shown once, when issued."""

    class Scope(models.TextChoices):
        READ = "read"
        RECORD = "record"
        MANAGE = "manage"

    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=80, help_text="What the token is for, in your own words.")
    hint = models.CharField(
        max_length=12, blank=True, editable=False, help_text="How its text begins."
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    scope = models.CharField(max_length=10, choices=Scope.choices)
    issued_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(expires_at__gt=models.F("issued_at")),
                name="token_expires_after_issue",
            )
        ]

    def __str__(self) -> str:
        return self.name
