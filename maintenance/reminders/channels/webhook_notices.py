"""Tell members that a webhook of theirs was disabled."""

import smtplib

import structlog
from django.conf import settings
from django.core.mail import EmailMessage
from django.utils.translation import gettext as _

from maintenance.models import Webhook
from maintenance.reminders.channels.contract import Clock

_log = structlog.get_logger(__name__)


def send_notices(*, clock: Clock) -> int:
    """Mail a notice of each disabled webhook once; return how many went out.

    Marked before it is mailed, so that two workers don't both mail it, and unmarked where the
    mail fails. A worker that dies in between loses the notice; the webhook itself goes on
    saying that it is disabled, and why.
    """
    if not settings.EMAIL_URL:
        return 0
    untold = Webhook.objects.filter(disabled_at__isnull=False, notified_at__isnull=True)
    sent = 0
    for webhook in untold.exclude(member__account__email="").select_related("member__account"):
        if not Webhook.objects.filter(pk=webhook.pk, notified_at=None).update(notified_at=clock()):
            continue
        try:
            sent += _notice(webhook).send()
        except (OSError, smtplib.SMTPException) as wrong:
            Webhook.objects.filter(pk=webhook.pk).update(notified_at=None)
            _log.warning(
                "webhook_notice_failed", webhook=str(webhook.pk), error=type(wrong).__name__
            )
            break
    return sent


def _notice(webhook: Webhook) -> EmailMessage:
    text = _(
        "The webhook %(name)s was disabled: %(why)s.\n\n"
        "Nothing is sent to it any more. What is queued for it is kept: put the receiver right, "
        "then enable the webhook again.\n\n"
        "Until then reminders reach you only over the other channels that you chose."
    )
    return EmailMessage(
        subject=" ".join((_("Webhook disabled: %s") % webhook.name).split()),
        body=text % {"name": webhook.name, "why": webhook.disabled_because},
        to=[webhook.member.account.email],
        headers={"Auto-Submitted": "auto-generated"},  # RFC 3834, section 5
    )
