from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Value
from django.db.models.functions import Lower, Replace

from maintenance.models.base import Editable
from maintenance.models.collections import DistanceUnit, Member

BARE_MARK = Lower(Replace("registration", Value(" "), Value("")))
"""A registration mark in small letters without blanks."""


class Vehicle(Editable):
    """A car. Dates are local calendar days; distances are in the unit of its odometer."""

    registration = models.CharField(max_length=20, help_text="Registration mark, as on the plate.")
    chassis_number = models.CharField(max_length=40, blank=True)
    make = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    built_on = models.DateField(null=True, blank=True)
    first_registered_on = models.DateField(null=True, blank=True)
    substantially_changed = models.BooleanField(
        null=True,
        blank=True,
        help_text="The keeper's word on changes to the car; unknown is not the same as no.",
    )
    nominal_voltage = models.PositiveSmallIntegerField(
        null=True, blank=True, choices=[(6, "6 V"), (12, "12 V")]
    )
    odometer_unit = models.CharField(max_length=2, choices=DistanceUnit.choices)
    odometer_digits = models.PositiveSmallIntegerField(
        default=6, validators=[MinValueValidator(5), MaxValueValidator(6)]
    )
    inspection_regime = models.CharField(max_length=10, blank=True)
    expected_annual_distance = models.PositiveIntegerField(
        null=True, blank=True, help_text="In the unit of the odometer."
    )
    season_from_month = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="First month of a seasonal plate, 1 to 12."
    )
    season_to_month = models.PositiveSmallIntegerField(null=True, blank=True)
    keeper = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="vehicles"
    )

    class Meta:
        constraints = [
            # "A 1" and "a1" are one plate: queries.marks.
            models.UniqueConstraint(
                "collection",
                BARE_MARK,
                name="registration_once_in_a_collection",
                violation_error_message="The collection has a car with this registration already.",
            ),
            models.CheckConstraint(
                condition=models.Q(odometer_digits__gte=5, odometer_digits__lte=6),
                name="odometer_has_5_or_6_digits",
                violation_error_message="An odometer has 5 or 6 digits; count them without tenths.",
            ),
            models.CheckConstraint(
                condition=models.Q(built_on__isnull=True)
                | models.Q(first_registered_on__isnull=True)
                | models.Q(first_registered_on__gte=models.F("built_on")),
                name="registered_once_built",
                violation_error_message=(
                    "A car is not registered before it was built; check both days."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(season_from_month__isnull=True, season_to_month__isnull=True)
                | models.Q(
                    season_from_month__range=(1, 12),
                    season_to_month__range=(1, 12),
                ),
                name="season_has_both_months",
                violation_error_message="A season has a first and a last month, each from 1 to 12.",
            ),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="vehicle_in_collection"),
            # A keeper's own cars: queries.access.Sight.vehicles.
            models.Index(fields=["keeper"], name="vehicle_by_keeper"),
        ]

    def __str__(self) -> str:
        return f"{self.registration} ({self.make} {self.model})"
