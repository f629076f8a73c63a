from decimal import Decimal

from django.db import models

from maintenance.models.base import Editable, TenantRow
from maintenance.models.components import Component
from maintenance.models.vehicles import Vehicle


def _money(**kwargs: object) -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(max_digits=12, decimal_places=2, **kwargs)  # type: ignore[arg-type]


class RecommissioningPlan(Editable):
    """How a car is brought back to the road: by when, with whom, for how much, and what came of it.

    `result` is what the last planning said of the whole; jobs and parts are rows of their own.
    """

    class State(models.TextChoices):
        PLANNED = "planned"
        IMPOSSIBLE = "impossible"
        CHANGED = "changed", "changed since it was planned"

    vehicle = models.ForeignKey(
        Vehicle, on_delete=models.PROTECT, related_name="recommissioning_plans"
    )
    starts_on = models.DateField(help_text="First day of work.")
    by = models.DateField(help_text="Day by whose evening the car is to be ready.")
    budget = _money(null=True, blank=True, help_text="Most that may be spent; empty for no limit.")
    currency = models.CharField(max_length=3, blank=True)
    rate_per_hour = _money(
        default=Decimal(0),
        help_text="What an hour of work is worth, where an assembly saves work.",
    )
    closed = models.JSONField(
        default=list, blank=True, help_text="Periods in which nobody works, both days included."
    )
    seed = models.PositiveIntegerField(default=1, help_text="Same seed, same plan.")
    time_limit = models.PositiveSmallIntegerField(
        default=10, help_text="After how long the search stops [s]."
    )
    state = models.CharField(max_length=10, choices=State.choices, editable=False)
    planned_on = models.DateField(editable=False, help_text="Local day of the last planning.")
    planned_at = models.DateTimeField(editable=False, help_text="Instant of the last planning.")
    result = models.JSONField(default=dict, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(by__gte=models.F("starts_on")),
                name="plan_is_ready_after_it_starts",
            ),
            models.CheckConstraint(
                condition=models.Q(budget__isnull=True)
                | (models.Q(budget__gte=0) & ~models.Q(currency="")),
                name="budget_has_a_currency",
            ),
            models.CheckConstraint(
                condition=models.Q(rate_per_hour__gte=0), name="no_negative_rate_per_hour"
            ),
        ]
        indexes = [
            # The plans of a car, for the API's list.
            models.Index(fields=["vehicle", "id"], name="plan_by_vehicle"),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle.registration} by {self.by}"


class PlanPerson(TenantRow):
    """Somebody who works on the car, and when."""

    plan = models.ForeignKey(RecommissioningPlan, on_delete=models.CASCADE, related_name="people")
    sequence = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    skills = models.JSONField(default=list, blank=True)
    cost_per_hour = _money(default=Decimal(0))
    hours = models.JSONField(help_text="Weekdays with the time of day from and to.")
    away = models.JSONField(default=list, blank=True)

    class Meta:
        verbose_name_plural = "plan people"
        constraints = [
            models.UniqueConstraint(fields=["plan", "name"], name="person_once_in_a_plan"),
            models.CheckConstraint(
                condition=models.Q(cost_per_hour__gte=0), name="no_negative_cost_of_a_person"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PlanResource(TenantRow):
    """Something that jobs share: pairs of stands, a lift, a press, a hired tool, a rented place."""

    plan = models.ForeignKey(
        RecommissioningPlan, on_delete=models.CASCADE, related_name="resources"
    )
    sequence = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    capacity = models.PositiveSmallIntegerField(default=1)
    daily_cost = _money(default=Decimal(0))
    whole_span = models.BooleanField(
        default=False, help_text="Paid from the first use to the last, not for days of use alone."
    )
    weekdays = models.JSONField(default=list, blank=True)
    closed = models.JSONField(default=list, blank=True)
    used_for = models.JSONField(
        default=list, blank=True, help_text="Component kinds whose jobs need it."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "name"], name="resource_once_in_a_plan"),
            models.CheckConstraint(
                condition=models.Q(daily_cost__gte=0), name="no_negative_cost_of_a_resource"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.capacity} {self.name}"


class PlanNeed(TenantRow):
    """Something that asks for work, before the rules of the trade make jobs of it.

    It stays with its plan when the work is done, so that what it brought with it stays too.
    """

    class Origin(models.TextChoices):
        DUE_ITEM = "due_item", "due item"
        FINDING = "finding"
        LAY_UP = "lay_up", "lay-up"
        INSPECTION = "inspection"
        KEEPER = "keeper"

    plan = models.ForeignKey(RecommissioningPlan, on_delete=models.CASCADE, related_name="needs")
    origin = models.CharField(max_length=10, choices=Origin.choices)
    origin_key = models.CharField(max_length=120, help_text="The same need is added once.")
    component = models.ForeignKey(Component, null=True, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=60)
    position = models.CharField(max_length=60, blank=True)
    task = models.CharField(max_length=30)
    criticality = models.CharField(max_length=11)
    reason = models.TextField(blank=True)
    tags = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "origin_key"], name="need_once_in_a_plan"),
        ]

    def __str__(self) -> str:
        return f"{self.task} {self.kind} {self.position}".strip()
