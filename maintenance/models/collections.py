import zoneinfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models

from maintenance.models.base import Identified, TenantRow


class DistanceUnit(models.TextChoices):
    KM = "km", "kilometres"
    MI = "mi", "miles"


def known_time_zone(name: str) -> None:
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            f"{name!r} is no time zone of the IANA database; write for example Europe/Lisbon."
        )


class Collection(Identified):
    """The tenant: a club's members' cars, or one owner's cars."""

    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=64, default="UTC", validators=[known_time_zone])
    distance_unit = models.CharField(
        max_length=2, choices=DistanceUnit.choices, default=DistanceUnit.KM
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)


class Member(TenantRow):
    """An account's place in a collection."""

    class Role(models.TextChoices):
        SECRETARY = "secretary"
        TECHNICAL_OFFICER = "technical_officer", "technical officer"
        KEEPER = "keeper"
        VIEWER = "viewer"

    collection = models.ForeignKey(Collection, on_delete=models.PROTECT, related_name="members")
    account = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="memberships"
    )
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=20, choices=Role.choices)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["collection", "account"],
                name="one_membership_per_account",
                violation_error_message="The account is a member of this collection already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
