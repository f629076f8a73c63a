import hashlib

from django.core.files.storage import default_storage
from django.db import models

from maintenance.models.base import Evidence, a_reason_with_every_correction
from maintenance.models.service_events import ServiceEvent
from maintenance.models.vehicles import Vehicle


class Attachment(Evidence):
    """An invoice or a photograph that goes with a service event.

    The file is kept once, however often it is attached, under the SHA-256 of its content.
    """

    TEXTS = ("reason", "name")

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="attachments")
    service_event = models.ForeignKey(
        ServiceEvent, on_delete=models.PROTECT, related_name="attachments"
    )
    name = models.CharField(max_length=120, help_text="Name of the file, for people.")
    media_type = models.CharField(max_length=40, help_text="What its content shows it to be.")
    size = models.PositiveIntegerField(help_text="Size as kept [bytes].")
    sha256 = models.CharField(max_length=64, help_text="Of the content as kept, in hexadecimal.")

    class Meta:
        constraints = [a_reason_with_every_correction("attachment")]

    def __str__(self) -> str:
        return self.name

    @property
    def path(self) -> str:
        """The place of the file in the storage."""
        return f"attachments/{self.sha256[:2]}/{self.sha256}"

    @property
    def content(self) -> bytes:
        """The file, read whole."""
        with default_storage.open(self.path) as file:
            return bytes(file.read())

    def is_intact(self) -> bool:
        """Say whether the file is there and is what was attached."""
        try:
            return hashlib.sha256(self.content).hexdigest() == self.sha256
        except OSError:
            return False
