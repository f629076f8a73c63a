from django.db import models

from maintenance.models.base import Evidence, Sealed, a_reason_with_every_correction
from maintenance.models.components import Component
from maintenance.models.vehicles import Vehicle


class Inspection(Evidence):
    """A roadworthiness inspection, passed or failed."""

    class Result(models.TextChoices):
        PASS = "pass"
        FAIL = "fail"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="inspections")
    on = models.DateField()
    odometer = models.DecimalField(max_digits=8, decimal_places=1, null=True, blank=True)
    result = models.CharField(max_length=4, choices=Result.choices)
    expires_on = models.DateField(
        null=True, blank=True, help_text="Last day of validity, as the certificate states it."
    )
    certificate = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(expires_on__isnull=True)
                | models.Q(result="pass", expires_on__gte=models.F("on")),
                name="only_a_pass_has_an_expiry",
            ),
            models.CheckConstraint(
                condition=models.Q(odometer__isnull=True) | models.Q(odometer__gte=0),
                name="no_negative_odometer_on_inspection",
            ),
            a_reason_with_every_correction("inspection"),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="inspection_in_collection"),
            # A car's inspections in order of days: queries.histories.
            models.Index(fields=["vehicle", "on"], name="inspection_by_vehicle_and_day"),
        ]

    def __str__(self) -> str:
        return f"{self.result} on {self.on}"


class Finding(Sealed):
    """One fault or advice of an inspection (Directive 2014/45/EU, Article 7, and advisories)."""

    TEXTS = ("note",)

    class Category(models.TextChoices):
        ADVISORY = "advisory"
        MINOR = "minor"
        MAJOR = "major"
        DANGEROUS = "dangerous"

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="findings")
    sequence = models.PositiveSmallIntegerField(help_text="Place within the inspection, from 0.")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="findings")
    category = models.CharField(max_length=10, choices=Category.choices)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "sequence"], name="finding_place_in_its_inspection"
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="finding_in_collection"),
        ]

    def __str__(self) -> str:
        return f"{self.category}: {self.component}"
