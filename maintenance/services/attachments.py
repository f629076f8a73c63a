"""Attach an invoice or a photograph to a service event."""

import datetime
import hashlib
from collections.abc import Iterator

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from maintenance.models import Account, Attachment, ServiceEvent
from maintenance.services.cars import locked
from maintenance.services.checks.attachments import as_kept
from maintenance.services.checks.figures import text_problems
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rows import Origin, write


@transaction.atomic
def attach(
    *,
    service_event: ServiceEvent,
    name: str,
    content: bytes,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Attachment:
    """Attach a file to a service event, under a name for people.

    One transaction under the lock of the car. Refused as in `as_kept`, and for a missing name.
    One attached by mistake is taken back by `evidence.withdraw`; the file itself stays.
    """
    vehicle = locked(service_event.vehicle)
    refuse_if_any(name_problems("/name", name))
    kept = as_kept(content, limit=settings.ATTACHMENT_LIMIT)
    row = Attachment(
        **Origin(by=by, at=at).columns(vehicle),
        service_event=service_event,
        name=name,
        media_type=kept.media_type,
        size=len(kept.content),
        sha256=hashlib.sha256(kept.content).hexdigest(),
    )
    _keep(row, kept.content)
    write(row)
    return row


def name_problems(pointer: str, name: str) -> Iterator[Problem]:
    """Tell what is wrong with the name of a file."""
    yield from text_problems(pointer, name, longest=120, required=True)


def _keep(row: Attachment, content: bytes) -> None:
    """Store a file once. One that is there but broken, as after a full disk, is stored anew."""
    if default_storage.exists(row.path):
        if row.is_intact():
            return
        default_storage.delete(row.path)
    default_storage.save(row.path, ContentFile(content))
