"""Who is to be told of what falls due, and the outbox of what they are told."""

import datetime
import zoneinfo

from django.db import models
from django.db.models import Q

from maintenance.models.base import Editable, Identified, TenantRow
from maintenance.models.collections import Collection, Member, known_time_zone
from maintenance.models.due_items import DueItem
from maintenance.models.vehicles import Vehicle


def default_channels() -> list[str]:
    return ["email"]


def default_lead_days() -> list[int]:
    return [60, 30, 7, 0]


class ReminderPreference(Editable):
    """How a member wants to be told. A member without a row has the defaults."""

    class Digest(models.TextChoices):
        NONE = "none", "each reminder by itself"
        DAILY = "daily"
        WEEKLY = "weekly"

    member = models.OneToOneField(
        Member, on_delete=models.CASCADE, related_name="reminder_preference"
    )
    channels = models.JSONField(default=default_channels)
    lead_days = models.JSONField(
        default=default_lead_days, help_text="Days before the due day on which to be told [days]."
    )
    weekly_while_overdue = models.BooleanField(
        default=True, help_text="Tell again each week while a safety item is overdue."
    )
    digest = models.CharField(max_length=10, choices=Digest.choices, default=Digest.DAILY)
    digest_hour = models.PositiveSmallIntegerField(
        default=8, help_text="Hour of the digest in the member's time zone, 0 to 23."
    )
    digest_weekday = models.PositiveSmallIntegerField(
        default=1, help_text="Day of a weekly digest, 1 for Monday to 7 (ISO 8601)."
    )
    quiet_from = models.TimeField(
        null=True, blank=True, default=datetime.time(21), help_text="Local start of quiet hours."
    )
    quiet_to = models.TimeField(
        null=True, blank=True, default=datetime.time(7), help_text="Local end of quiet hours."
    )
    time_zone = models.CharField(
        max_length=64,
        blank=True,
        validators=[known_time_zone],
        help_text="IANA name; empty for the time zone of the collection.",
    )
    whole_collection = models.BooleanField(
        default=False, help_text="For an officer: be told of every car of the collection."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(digest_hour__lte=23, digest_weekday__range=(1, 7)),
                name="digest_at_an_hour_of_a_weekday",
                violation_error_message=(
                    "A digest goes out at an hour from 0 to 23, a weekly one on a day from 1 to 7."
                ),
            ),
            models.CheckConstraint(
                condition=Q(quiet_from__isnull=True, quiet_to__isnull=True)
                | Q(quiet_from__isnull=False, quiet_to__isnull=False),
                name="quiet_hours_have_both_ends",
                violation_error_message="Quiet hours have a start and an end, or neither.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.digest}, {self.lead_days}"

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The member's time zone; reads the collection where the member names none."""
        return zoneinfo.ZoneInfo(self.time_zone or self.collection.time_zone)


class Message(TenantRow):
    """One thing sent to one member over one channel: a reminder by itself, or a digest of several.

    A channel that sends from rows of its own is handed the message; it is settled by those rows.

    The row is the truth and a broker's message only a hint. A worker claims the row by pushing
    `next_at` forward by a lease; if it dies, the row is ready again once the lease has run out.
    `handed_at` stands from just before the row is handed to the channel until the channel
    answers: a row that is claimed anew with it set may have arrived already, and is sent again
    under the same identifier.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        CLAIMED = "claimed"
        HANDED_OVER = "handed_over", "handed over"
        SENT = "sent"
        UNDELIVERED = "undelivered"
        DROPPED = "dropped"

    OPEN = (State.WAITING, State.CLAIMED)

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    channel = models.CharField(max_length=20)
    digest = models.BooleanField(default=False)
    not_before = models.DateTimeField(help_text="UTC instant at which it is to go out.")
    next_at = models.DateTimeField(help_text="UTC instant from which a worker may take it.")
    state = models.CharField(max_length=12, choices=State.choices, default=State.WAITING)
    claim = models.UUIDField(null=True, editable=False)
    attempts = models.PositiveIntegerField(default=0)
    failures = models.PositiveIntegerField(
        default=0, help_text="Attempts that failed since it was last sent anew by hand."
    )
    failures_in_all = models.PositiveIntegerField(default=0, editable=False)
    unknown_outcomes = models.PositiveIntegerField(
        default=0, help_text="Attempts of which it is not known whether they arrived."
    )
    first_tried_at = models.DateTimeField(null=True)
    handed_at = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)
    last_error = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["member", "channel", "not_before"],
                condition=Q(digest=True),
                name="one_digest_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(sent_at__isnull=False) | ~Q(state="sent"),
                name="sent_message_says_when",
            ),
        ]
        indexes = [
            # What a worker may take now: reminders.outbox.claim.
            models.Index(
                fields=["channel", "next_at", "id"],
                condition=Q(state__in=("waiting", "claimed")),
                name="message_ready",
            ),
            # All that one worker took: reminders.outbox.claim.
            models.Index(fields=["claim"], condition=Q(state="claimed"), name="message_by_claim"),
        ]

    def __str__(self) -> str:
        return f"{self.channel}: {self.state}"


class Reminder(TenantRow):
    """What one member is told of one due item, a lead time before its day, over one channel.

    `item_key` names the due item for good, also once its row is gone. A negative lead time says
    how long the item was overdue. An item that no record starts has no day: it is due now.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        SENT = "sent"
        UNDELIVERED = "undelivered"
        DROPPED = "dropped"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="reminders")
    item_key = models.CharField(max_length=80)
    due_item = models.ForeignKey(
        DueItem, null=True, on_delete=models.SET_NULL, related_name="reminders"
    )
    due_on = models.DateField(null=True)
    lead_days = models.IntegerField(help_text="Days before the due day; negative when overdue.")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="reminders")
    channel = models.CharField(max_length=20)
    state = models.CharField(max_length=12, choices=State.choices, default=State.WAITING)
    reason = models.TextField(blank=True, help_text="Why it was dropped.")
    found_at = models.DateTimeField(help_text="UTC instant at which it was found to be due.")
    message = models.ForeignKey(
        Message, null=True, on_delete=models.SET_NULL, related_name="reminders"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "item_key", "due_on", "lead_days", "member", "channel"],
                name="told_once",
            ),
            # SQL holds two unknown days to be different, so these need a rule of their own.
            models.UniqueConstraint(
                fields=["vehicle", "item_key", "lead_days", "member", "channel"],
                condition=Q(due_on__isnull=True),
                name="told_once_without_a_day",
            ),
            models.CheckConstraint(
                condition=~Q(reason="") | ~Q(state="dropped"), name="dropped_reminder_says_why"
            ),
        ]
        indexes = [
            # Those still to be sent, compared with the due list: reminders.find.
            models.Index(
                fields=["collection"], condition=Q(state="waiting"), name="reminder_waiting"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_key} {self.due_on} {self.lead_days:+d}: {self.state}"


class NightlyPass(Identified):
    """Up to which local day a collection was computed as a whole, and who is at it."""

    collection = models.OneToOneField(
        Collection, on_delete=models.CASCADE, related_name="nightly_pass"
    )
    done_on = models.DateField(null=True)
    claim = models.UUIDField(null=True, editable=False)
    leased_until = models.DateTimeField(null=True)

    class Meta:
        verbose_name_plural = "nightly passes"

    def __str__(self) -> str:
        return f"done on {self.done_on}"
