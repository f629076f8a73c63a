"""What every row has: an identifier that sorts by age, its tenant, and for evidence its origin."""

import secrets
import uuid
from typing import Any, ClassVar

import uuid_utils.compat
from django.conf import settings
from django.db import models


def new_id() -> uuid.UUID:
    """Return a UUIDv7 (RFC 9562, section 5.7): later rows sort after earlier ones."""
    return uuid_utils.compat.uuid7()


class Identified(models.Model):
    id = models.UUIDField(primary_key=True, default=new_id, editable=False)

    class Meta:
        abstract = True


class TenantRow(Identified):
    """A row that belongs to one collection, named on the row itself so that no join can lose it."""

    collection = models.ForeignKey(
        "maintenance.Collection", on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        abstract = True


class Editable(TenantRow):
    """A description that may be changed in place; `version` guards against lost updates."""

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True


class Sealed(TenantRow):
    """A row whose texts may name people, and go into a digest by their fingerprints alone.

    A fingerprint is the SHA-256 of a salt and the text. Once the salt is thrown away with the
    text, nothing can be guessed from what is left, and the digest still holds.
    """

    TEXTS: ClassVar[tuple[str, ...]]

    salts = models.JSONField(default=dict, editable=False)
    """By the name of each text, in hexadecimal; a text that was erased has none any more."""

    class Meta:
        abstract = True

    def seal(self) -> None:
        """Give each text a salt of its own, so that one can be erased without the others."""
        for name in self.TEXTS:
            if getattr(self, name) and name not in self.salts:
                self.salts[name] = secrets.token_hex(16)


class Evidence(Sealed):
    """A record of what happened: never changed, only superseded by a later record that says why.

    `current` is the one column that changes, once, when a later record supersedes this one.
    A superseding record that is `withdrawn` takes the old one back and puts nothing in its place.
    """

    TEXTS: ClassVar[tuple[str, ...]] = ("reason",)

    vehicle: Any
    """The car; each kind of record has a column of its own, under its own name on the car."""
    vehicle_id: uuid.UUID

    recorded_at = models.DateTimeField(help_text="UTC instant at which this record was made.")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    current = models.BooleanField(default=True, editable=False)
    withdrawn = models.BooleanField(default=False, editable=False)
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    reason = models.TextField(
        blank=True, help_text="Why this record supersedes another; empty on a first record."
    )

    class Meta:
        abstract = True


def a_reason_with_every_correction(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=models.Q(supersedes__isnull=True) | ~models.Q(reason=""),
        name=f"{name}_correction_says_why",
    )
