from django.db import models

from maintenance.models.base import TenantRow
from maintenance.models.components import Component
from maintenance.models.inspections import Finding
from maintenance.models.papers import Paper
from maintenance.models.postponements import Postponement
from maintenance.models.vehicles import Vehicle


class DueItem(TenantRow):
    """The engine's stored answer for one component and one rule, or one inspection or paper.

    The row keeps days from which the status of any later day follows (`queries.due_items`), so a
    list neither computes nor shows yesterday's status. `key` names the item for good: the row,
    and so its identifier, outlives every recomputation.
    """

    class GovernedBy(models.TextChoices):
        TIME = "time"
        DISTANCE = "distance"
        WEAR = "wear"
        FIRST_USE = "first_use", "first use"
        INSPECTION = "inspection"
        FINDING = "finding"
        EXPIRY = "expiry"
        NO_RECORD = "no_record", "no record"

    class Status(models.TextChoices):
        NO_RECORD = "no_record", "no record"
        BEFORE_USE = "before_use", "before use"
        OVERDUE = "overdue"
        FALLING_DUE = "falling_due", "falling due"
        UNMEASURED = "unmeasured"
        IN_DATE = "in_date", "in date"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="due_items")
    key = models.CharField(max_length=80)
    cycle = models.CharField(
        max_length=10, blank=True, help_text="Day its clock started; empty where none is known."
    )
    component = models.ForeignKey(
        Component, null=True, blank=True, on_delete=models.PROTECT, related_name="due_items"
    )
    finding = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    paper = models.ForeignKey(
        Paper, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    kind = models.CharField(max_length=60)
    position = models.CharField(max_length=60, blank=True)
    rule = models.CharField(max_length=160)
    task = models.CharField(max_length=10)
    criticality_rank = models.PositiveSmallIntegerField()
    due_on = models.DateField(null=True)
    earliest_on = models.DateField(null=True)
    latest_on = models.DateField(null=True)
    due_at_odometer = models.DecimalField(max_digits=9, decimal_places=1, null=True)
    governed_by = models.CharField(max_length=10, choices=GovernedBy.choices)
    criteria = models.JSONField(default=list)
    sentence = models.TextField()
    caution = models.TextField(blank=True)
    source = models.TextField(blank=True)
    order_day = models.DateField()
    no_record = models.BooleanField(default=False)
    no_record_since = models.DateField(
        null=True, help_text="Local day on which it was first found to have no record."
    )
    unmeasured = models.BooleanField(default=False)
    storage_care = models.BooleanField(default=False)
    overdue_from = models.DateField(null=True)
    falling_due_from = models.DateField(null=True)
    before_use_from = models.DateField(null=True)
    laid_up_from = models.DateField(null=True)
    laid_up_until = models.DateField(null=True)
    expected_to = models.DateField(null=True)
    status: str
    """Set by the query that reads the item: its status on the day asked about."""

    put_off: Postponement | None = None
    """Set by `queries.put_offs`: the word of whoever put it off, where that holds."""

    changed_on = models.DateField(help_text="Local day on which this answer last changed.")
    revision = models.PositiveIntegerField(
        default=0, help_text="Raised each time the answer changes."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "key"], name="due_item_once_on_a_car"),
        ]
        indexes = [
            # The due list of a collection in its order: queries.due_items.
            models.Index(
                fields=["collection", "criticality_rank", "order_day", "kind", "position", "id"],
                name="due_list_order",
            ),
            # What falls due by a day, for reminders and the filter `due_before`.
            models.Index(fields=["collection", "due_on"], name="due_item_by_day"),
        ]

    def __str__(self) -> str:
        return f"{self.rule}: {self.due_on or self.governed_by}"
