"""Letters to people who need not be members: an outbox that no preference governs."""

import datetime
from typing import Final
from urllib.parse import urlsplit

import structlog
from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from maintenance.models import Letter, Transfer
from maintenance.reminders import back_off
from maintenance.reminders.addresses import public_address
from maintenance.reminders.channels.contract import NotDeliverable, Over, TryLater
from maintenance.reminders.once import secret_of

INVITATION_PREFIX: Final = "idleinv_"
TRANSFER_PREFIX: Final = "idlecar_"
BATCH: Final = 50

_log = structlog.get_logger(__name__)


def waiting(at: datetime.datetime) -> list[Letter]:
    """Return letters that may be sent now, the longest waiting first."""
    rows = Letter.objects.filter(state=Letter.State.WAITING, next_at__lte=at)
    return list(
        rows.select_related("collection", "invitation", "transfer__to_keeper__account").order_by(
            "next_at", "id"
        )[:BATCH]
    )


def take(letter: Letter, at: datetime.datetime) -> bool:
    """Take a letter for the length of a lease; False if another worker has it by now."""
    held = Letter.objects.filter(
        pk=letter.pk, state=Letter.State.WAITING, next_at=letter.next_at
    ).update(next_at=at + settings.REMINDER_LEASE, first_tried_at=letter.first_tried_at or at)
    return held == 1


def write(letter: Letter, at: datetime.datetime) -> EmailMessage:
    """Write a letter; `Over` where what it is about is, `NotDeliverable` to nobody."""
    to = letter.to
    if letter.transfer and not letter.transfer.elsewhere:
        to, subject, body = _of_change_of_keeper(letter, at)
    elif letter.transfer:
        subject, body = _of_transfer(letter, at)
    else:
        subject, body = _of_invitation(letter, at)
    host = urlsplit(settings.PUBLIC_URL).hostname or "localhost"
    return EmailMessage(
        # A line break would start a header of its own.
        subject=" ".join(subject.split()),
        body=body,
        to=[to],
        headers={
            # Sent twice after a crash, it is one message to the reader (RFC 5322, section 3.6.4).
            "Message-ID": f"<{letter.pk}@{host}>",
            "Auto-Submitted": "auto-generated",  # RFC 3834, section 5
        },
    )


def _of_invitation(letter: Letter, at: datetime.datetime) -> tuple[str, str]:
    invitation = letter.invitation
    if invitation is None or (invitation.state, invitation.expires_at > at) != ("open", True):
        raise Over(_("What the letter is about is over."))
    secret = secret_of(INVITATION_PREFIX, invitation.pk)
    words = {
        "invitation": invitation,
        "collection": letter.collection.name,
        "link": public_address(f"/invitations/{secret}"),
    }
    subject = _("Invitation to %s") % letter.collection.name
    return subject, render_to_string("letters/invitation.txt", words)


def _of_transfer(letter: Letter, at: datetime.datetime) -> tuple[str, str]:
    transfer = _still_offered(letter, at)
    words = {
        "transfer": transfer,
        "collection": letter.collection.name,
        "code": secret_of(TRANSFER_PREFIX, transfer.pk),
    }
    return _offered(transfer), render_to_string("letters/transfer.txt", words)


def _of_change_of_keeper(letter: Letter, at: datetime.datetime) -> tuple[str, str, str]:
    """Write to the address that the member has now; to nobody who has left since."""
    transfer = _still_offered(letter, at)
    if transfer.to_keeper is None or not transfer.to_keeper.account.email:
        raise NotDeliverable(_("The member has left, or has no address any more."))
    words = {
        "transfer": transfer,
        "collection": letter.collection.name,
        "address": public_address(f"/api/v1/transfers/{transfer.pk}"),
    }
    body = render_to_string("letters/change_of_keeper.txt", words)
    return transfer.to_keeper.account.email, _offered(transfer), body


def _still_offered(letter: Letter, at: datetime.datetime) -> Transfer:
    transfer = letter.transfer
    if transfer is None or (transfer.state, transfer.expires_at > at) != ("offered", True):
        raise Over(_("What the letter is about is over."))
    return transfer


def _offered(transfer: Transfer) -> str:
    return str(_("%s is offered to you") % f"{transfer.registration} ({transfer.make})")


def settle_sent(letter: Letter, at: datetime.datetime) -> None:
    """Note that a letter went out."""
    Letter.objects.filter(pk=letter.pk, state=Letter.State.WAITING).update(
        state=Letter.State.SENT, sent_at=at, last_error=""
    )


def settle_dropped(letter: Letter, why: Over) -> None:
    """Note that a letter is not to go out any more."""
    Letter.objects.filter(pk=letter.pk, state=Letter.State.WAITING).update(
        state=Letter.State.DROPPED
    )
    _log.info("letter_dropped", letter=str(letter.pk), why=str(why))


def settle_failed(letter: Letter, wrong: TryLater | NotDeliverable, at: datetime.datetime) -> None:
    """Note that a letter did not go out, and when it is tried again, if ever."""
    failures, first = letter.failures + 1, letter.first_tried_at or at
    final = isinstance(wrong, NotDeliverable) or back_off.given_up(first, at)
    Letter.objects.filter(pk=letter.pk, state=Letter.State.WAITING).update(
        state=Letter.State.UNDELIVERED if final else Letter.State.WAITING,
        failures=failures,
        last_error=str(wrong),
        next_at=at + back_off.wait(failures),
    )
    _log.warning("letter_failed", letter=str(letter.pk), failures=failures, error=str(wrong))
