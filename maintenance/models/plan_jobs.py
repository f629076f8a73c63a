from decimal import Decimal

from django.db import models

from maintenance.models.base import Editable
from maintenance.models.components import Component
from maintenance.models.plans import RecommissioningPlan
from maintenance.models.service_events import ServiceEvent


class PlanJob(Editable):
    """One piece of planned work: what the keeper says of it, when it is to be done, what it took.

    Fields that begin with `own_` are the keeper's and beat the catalogue's.
    """

    class State(models.TextChoices):
        PLANNED = "planned"
        LEFT_OUT = "left_out", "left out"
        WAITING = "waiting", "waiting for a plan that holds"
        DONE = "done"

    plan = models.ForeignKey(RecommissioningPlan, on_delete=models.CASCADE, related_name="jobs")
    sequence = models.PositiveSmallIntegerField(default=0)
    key = models.CharField(max_length=200, help_text="Names the job within its plan for good.")
    component = models.ForeignKey(Component, null=True, on_delete=models.SET_NULL, related_name="+")
    kind = models.CharField(max_length=60)
    position = models.CharField(max_length=60, blank=True)
    task = models.CharField(max_length=30)
    system = models.CharField(max_length=40, blank=True)
    phase = models.CharField(max_length=40, blank=True)
    criticality = models.CharField(max_length=11)
    reason = models.TextField(blank=True)
    hands = models.PositiveSmallIntegerField(default=1)
    who = models.JSONField(default=list)
    uses = models.JSONField(default=list, help_text="Resources held while it lasts.")
    consumables = models.JSONField(default=list)
    cautions = models.JSONField(default=list, help_text="Keys of the catalogue's cautions.")
    sheet_fields = models.JSONField(default=list, help_text="Figures of the maker's handbook.")
    clears = models.JSONField(default=list, help_text="Components that it settles as well.")

    hours = models.DecimalField(max_digits=6, decimal_places=2, help_text="Estimate [h].")
    outlay = models.DecimalField(
        max_digits=12, decimal_places=2, default=Decimal(0), help_text="Estimate, without labour."
    )
    own_hours = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    own_hands = models.PositiveSmallIntegerField(
        null=True, help_text="People needed at one time; empty for the catalogue's."
    )
    own_who = models.JSONField(default=list)
    own_uses = models.JSONField(default=list)
    other_cost = models.DecimalField(
        max_digits=12,
        decimal_places=2,
        default=Decimal(0),
        help_text="Consumables and outside work.",
    )
    optional = models.BooleanField(default=False)
    value = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    pinned_on = models.DateField(null=True, help_text="Done on this day and no other.")

    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    starts_on = models.DateField(null=True)
    starts_at = models.TimeField(null=True)
    ends_on = models.DateField(null=True)
    ends_at = models.TimeField(null=True)
    people = models.JSONField(default=list)
    float_days = models.PositiveSmallIntegerField(null=True)

    done_on = models.DateField(null=True)
    hours_taken = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    cost_paid = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    service_event = models.ForeignKey(
        ServiceEvent, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "key"], name="job_once_in_a_plan"),
            models.CheckConstraint(
                condition=models.Q(hours__gt=0)
                & (models.Q(own_hours__isnull=True) | models.Q(own_hours__gt=0)),
                name="job_takes_time",
            ),
            models.CheckConstraint(
                condition=~models.Q(criticality="safety", optional=True),
                name="no_safety_job_is_optional",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="done") | models.Q(done_on__isnull=False),
                name="done_job_has_its_day",
            ),
            models.CheckConstraint(
                condition=models.Q(outlay__gte=0, other_cost__gte=0)
                & (models.Q(value__isnull=True) | models.Q(value__gte=0))
                & (models.Q(cost_paid__isnull=True) | models.Q(cost_paid__gte=0))
                & (models.Q(hours_taken__isnull=True) | models.Q(hours_taken__gte=0)),
                name="no_negative_figure_of_a_job",
            ),
        ]
        indexes = [
            # The jobs of a plan in the order of days: services.plans.stored, and the API's list.
            models.Index(fields=["plan", "sequence", "id"], name="plan_job_in_order"),
        ]

    def __str__(self) -> str:
        return self.key


class PlanPart(Editable):
    """Something to be bought for a job, and how far its order has got."""

    plan = models.ForeignKey(RecommissioningPlan, on_delete=models.CASCADE, related_name="parts")
    job = models.ForeignKey(PlanJob, on_delete=models.CASCADE, related_name="parts")
    name = models.CharField(max_length=120)
    part_number = models.CharField(max_length=80, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    price = models.DecimalField(max_digits=12, decimal_places=2, help_text="Price of one.")
    quantity = models.PositiveSmallIntegerField(default=1)
    lead_days = models.PositiveSmallIntegerField(default=0)
    sold_separately = models.BooleanField(default=True)
    ordered_on = models.DateField(null=True)
    arrives_on = models.DateField(
        null=True, help_text="As promised by the supplier; else the lead time from the order."
    )
    needed_on = models.DateField(null=True, help_text="Day on which its job begins.")
    order_by = models.DateField(null=True, help_text="Last day to order; empty once it is ordered.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "name"], name="part_once_a_job"),
            models.CheckConstraint(
                condition=models.Q(price__gte=0, quantity__gte=1),
                name="part_has_a_price_and_a_quantity",
            ),
            models.CheckConstraint(
                condition=models.Q(arrives_on__isnull=True)
                | models.Q(ordered_on__isnull=True)
                | models.Q(arrives_on__gte=models.F("ordered_on")),
                name="part_arrives_after_its_order",
            ),
        ]
        indexes = [
            # The parts list of a plan: services.plans.stored, and the API's list.
            models.Index(fields=["plan", "id"], name="plan_part_of_a_plan"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.name}"
