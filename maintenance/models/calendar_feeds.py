import uuid

from django.db import models

from maintenance.models.base import Editable, TenantRow
from maintenance.models.collections import Member
from maintenance.models.vehicles import Vehicle


class CalendarFeed(Editable):
    """A secret address from which a calendar program fetches what falls due on some cars.

    Only the SHA-256 of the address's secret is kept; the address is shown once. What the feed
    shows is what its member may see at the time it is fetched, never more.
    """

    class Scope(models.TextChoices):
        MEMBER = "member", "the member's own cars"
        VEHICLE = "vehicle", "one car"
        COLLECTION = "collection", "every car of the collection"

    class Form(models.TextChoices):
        EVENTS = "events"
        TODOS = "todos", "to-dos"

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="calendar_feeds")
    name = models.CharField(max_length=80, help_text="How the calendar is called.")
    scope = models.CharField(max_length=10, choices=Scope.choices, default=Scope.MEMBER)
    vehicle = models.ForeignKey(
        Vehicle, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    criticalities = models.JSONField(
        default=list, help_text="Which items: safety, reliability, appearance."
    )
    form = models.CharField(
        max_length=6,
        choices=Form.choices,
        default=Form.EVENTS,
        help_text="All-day events or to-dos, where the address does not say.",
    )
    lead_times = models.JSONField(
        default=list, help_text="How long before the due day an alarm sounds [days]."
    )
    uid = models.UUIDField(default=uuid.uuid4, editable=False)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    issued_at = models.DateTimeField(help_text="When the present address was issued.")
    shown = models.JSONField(default=dict, editable=False)
    """By form: digest of what was last shown, and the instant since when it has been the same."""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(scope="vehicle", vehicle__isnull=False)
                | (~models.Q(scope="vehicle") & models.Q(vehicle__isnull=True)),
                name="calendar_feed_of_one_car_names_it",
            )
        ]

    def __str__(self) -> str:
        return self.name


class CalendarEntry(TenantRow):
    """What calendars show of one due item in one cycle: from one start of its clock to the next.

    The text is kept ready, because writing two thousand entries anew at each fetch takes a
    thousand times as long as joining them. A new cycle is a new entry; the old one stays, as
    cancelled, until calendars have had time to learn of it. There is no foreign key to the due
    item: entries outlive it.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80, help_text="The key of the due item.")
    cycle = models.CharField(
        max_length=10, blank=True, help_text="Day its clock started; empty where none is known."
    )
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    sequence = models.PositiveIntegerField(default=0)
    criticality = models.CharField(max_length=11)
    content = models.CharField(max_length=64, help_text="Digest of what is shown.")
    first_shown_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True)
    event = models.TextField(blank=True, help_text="Empty where the item has no day.")
    todo = models.TextField()
    alarm = models.TextField(blank=True, help_text="What an alarm says; empty for no alarm.")

    class Meta:
        verbose_name_plural = "calendar entries"
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "key", "cycle"], name="calendar_entry_once_a_cycle"
            ),
        ]
        indexes = [
            # What a feed joins, in its order: reminders.calendar.feeds.
            models.Index(fields=["collection", "id"], name="calendar_entry_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.key} since {self.cycle or 'ever'}"
