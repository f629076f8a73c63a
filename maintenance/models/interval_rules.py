from decimal import Decimal

from django.db import models

from maintenance.models.base import Editable
from maintenance.models.vehicles import Vehicle


def _factor() -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(1))


class IntervalRule(Editable):
    """A collection's own rule, which replaces a less specific one of the same kind and task whole.

    It applies to one component (vehicle and position), one vehicle, one model, one make, one
    position on every car, or the whole collection: the more of these are filled, the narrower.
    """

    class Task(models.TextChoices):
        RENEW = "renew"
        OVERHAUL = "overhaul"
        INSPECT = "inspect"
        ADJUST = "adjust"
        CLEAN = "clean"
        LUBRICATE = "lubricate"

    class Applies(models.TextChoices):
        ALWAYS = "always"
        LAID_UP = "laid_up", "laid up"

    class Criticality(models.TextChoices):
        SAFETY = "safety"
        RELIABILITY = "reliability"
        APPEARANCE = "appearance"

    class Against(models.TextChoices):
        DISTANCE = "distance"
        AGED_DAYS = "aged_days", "aged days"

    vehicle = models.ForeignKey(
        Vehicle, null=True, blank=True, on_delete=models.PROTECT, related_name="interval_rules"
    )
    make = models.CharField(max_length=60, blank=True)
    model = models.CharField(max_length=60, blank=True)
    position = models.CharField(max_length=60, blank=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=60)
    task = models.CharField(max_length=10, choices=Task.choices)
    applies = models.CharField(max_length=10, choices=Applies.choices, default=Applies.ALWAYS)
    months = models.PositiveSmallIntegerField(null=True, blank=True)
    distance_km = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    factor_heated = _factor()
    factor_dry = _factor()
    factor_damp = _factor()
    factor_outdoors = _factor()
    km_per_month = models.DecimalField(
        max_digits=8,
        decimal_places=3,
        default=Decimal(0),
        help_text="Distance counted for each month laid up.",
    )
    before_use_after_months = models.PositiveSmallIntegerField(null=True, blank=True)
    wear_quantity = models.CharField(max_length=40, blank=True)
    wear_unit = models.CharField(max_length=12, blank=True)
    wear_new = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    wear_minimum = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    wear_maximum = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    wear_against = models.CharField(
        max_length=10, choices=Against.choices, default=Against.DISTANCE
    )
    counts_shelf_age = models.BooleanField(default=False)
    warn_days = models.PositiveSmallIntegerField(default=30)
    warn_distance_km = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(500))
    criticality = models.CharField(max_length=12, choices=Criticality.choices)
    source = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "kind", "task", "applies", "position"],
                condition=models.Q(vehicle__isnull=False),
                name="one_rule_per_vehicle_kind_and_task",
                violation_error_message=(
                    "The car has a rule for this kind, task and position already; change that one."
                ),
            ),
            models.UniqueConstraint(
                fields=["collection", "kind", "task", "applies", "make", "model", "position"],
                condition=models.Q(vehicle__isnull=True),
                name="one_rule_per_scope_kind_and_task",
                violation_error_message=(
                    "The collection has such a rule for this kind and task already; change "
                    "that one."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(
                    factor_heated__gte=1,
                    factor_dry__gte=1,
                    factor_damp__gte=1,
                    factor_outdoors__gte=1,
                ),
                name="storage_never_lengthens_a_limit",
                violation_error_message=(
                    "Storage never lengthens a limit; give factors of 1 or more."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(model="") | ~models.Q(make=""),
                name="a_model_has_its_make",
                violation_error_message="A model is named with its make; fill in the make.",
            ),
            models.CheckConstraint(
                condition=models.Q(vehicle__isnull=True) | models.Q(make="", model=""),
                name="a_vehicle_or_a_make_not_both",
                violation_error_message=(
                    "A rule is for one car or for a make; empty one of the two."
                ),
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="rule_in_collection"),
        ]

    def __str__(self) -> str:
        return self.name
