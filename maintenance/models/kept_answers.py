from django.db import models

from maintenance.models.accounts import Account
from maintenance.models.base import Identified


class KeptAnswer(Identified):
    """What was answered to a call under a key of the client's, to be answered again.

    Written in the transaction of what the call did, so that a crash leaves both or neither.
    """

    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 of the request.")
    status = models.PositiveSmallIntegerField()
    media_type = models.CharField(max_length=80)
    location = models.TextField(blank=True)
    body = models.BinaryField()
    kept_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["account", "key"], name="one_answer_per_key"),
        ]
        indexes = [
            # Answers past their time: services.kept_answers.
            models.Index(fields=["kept_at"], name="answer_by_instant"),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.status}"
