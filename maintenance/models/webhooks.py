import uuid

from django.db import models

from maintenance.models.base import Editable, Identified, TenantRow
from maintenance.models.collections import Member
from maintenance.models.reminders import Reminder


class Webhook(Editable):
    """An address of another program that is told by HTTP what falls due.

    It is told what its member is reminded of, and nothing that the member may not see.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="webhooks")
    name = models.CharField(max_length=80, help_text="What listens there, in your own words.")
    url = models.CharField(max_length=2000)
    added_at = models.DateTimeField()
    failing_since = models.DateTimeField(
        null=True, help_text="First failure since the last delivery that was taken."
    )
    disabled_at = models.DateTimeField(null=True)
    disabled_because = models.CharField(max_length=300, blank=True)
    notified_at = models.DateTimeField(
        null=True, help_text="When the member was told that it was disabled."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["member", "url"], name="webhook_once_a_member"),
            models.CheckConstraint(
                condition=models.Q(disabled_at__isnull=True) | ~models.Q(disabled_because=""),
                name="disabled_webhook_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class WebhookSecret(Identified):
    """A key that signs deliveries. Kept as it is: a signature can't be made from a digest.

    While one secret replaces another both sign, so that a receiver can change over in its own
    time.
    """

    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="secrets")
    text = models.CharField(max_length=80)
    issued_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"secret of {self.issued_at:%Y-%m-%d}"


class WebhookDelivery(TenantRow):
    """One message to one webhook, sent until it is taken or given up; the log of what became of it.

    One that tells of a reminder is dropped when that is no longer true, untold.

    The body is kept as the text that is signed and sent, so that a message sent again is the same
    to the byte and carries the same identifier.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        TAKEN = "taken"
        GIVEN_UP = "given_up", "given up"
        DROPPED = "dropped"

    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="deliveries")
    event = models.CharField(max_length=40)
    reminder = models.ForeignKey(
        Reminder, null=True, on_delete=models.CASCADE, related_name="deliveries"
    )
    key = models.CharField(max_length=120, help_text="What the message is about, once a webhook.")
    body = models.TextField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    queued_at = models.DateTimeField()
    next_attempt_at = models.DateTimeField()
    first_tried_at = models.DateTimeField(null=True)
    attempt_count = models.PositiveIntegerField(default=0)
    finished_at = models.DateTimeField(null=True)
    last_status = models.PositiveSmallIntegerField(null=True)
    last_error = models.CharField(max_length=300, blank=True)
    reason = models.TextField(blank=True, help_text="Why it was dropped.")

    class Meta:
        verbose_name_plural = "webhook deliveries"
        constraints = [
            models.UniqueConstraint(fields=["webhook", "key"], name="message_once_a_webhook"),
        ]
        indexes = [
            # The API's list of a collection, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="webhook_delivery_in_order"),
            # What is to be sent now: reminders.channels.webhook_deliveries.
            models.Index(
                fields=["webhook", "next_attempt_at"],
                condition=models.Q(state="waiting"),
                name="webhook_delivery_waiting",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} {self.message_id}"

    @property
    def message_id(self) -> str:
        """The identifier by which a receiver knows a message it has had before."""
        return message_id(self.id)


def message_id(delivery: uuid.UUID) -> str:
    """Return the identifier under which a delivery is sent."""
    return f"msg_{delivery.hex}"


class WebhookAttempt(Identified):
    """One try to deliver a message, and what the other side answered."""

    delivery = models.ForeignKey(WebhookDelivery, on_delete=models.CASCADE, related_name="attempts")
    at = models.DateTimeField()
    duration_ms = models.PositiveIntegerField(help_text="How long it took [ms].")
    status = models.PositiveSmallIntegerField(null=True, help_text="HTTP status answered.")
    error = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"{self.status or self.error} at {self.at:%Y-%m-%d %H:%M}"
