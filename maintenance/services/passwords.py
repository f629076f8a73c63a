"""Links to a new password, for who has forgotten theirs."""

import datetime
from collections.abc import Iterator
from typing import Final

from django.conf import settings
from django.contrib.auth.forms import PasswordResetForm
from django.db.models import Q

from maintenance.models import Account

#: An account is sent no more than one link in this time, so that nobody's letter box is flooded.
LINK_EVERY: Final = datetime.timedelta(minutes=10)


def send_password_links(*, address: str, at: datetime.datetime) -> None:
    """Send a link to each account of an e-mail address, if there is any; tell nobody whether.

    Speaks with the mail server: to be called when the answer has gone out, or the time it takes
    would tell who has an account. What could not be sent is logged, and may be asked for again.
    """
    form = _Links({"email": address})
    form.at = at
    if not form.is_valid():
        return
    form.save(
        subject_template_name="pages/password_mail_subject.txt",
        email_template_name="pages/password_mail.txt",
        # Our own address, and not the one that the request named.
        domain_override=settings.PUBLIC_URL,
        extra_email_context={"public_url": settings.PUBLIC_URL.rstrip("/")},
    )


class _Links(PasswordResetForm):
    at: datetime.datetime

    def get_users(self, email: str) -> Iterator[Account]:
        """Yield the accounts that may be sent a link now; each is claimed by count."""
        free = Q(password_mail_at=None) | Q(password_mail_at__lte=self.at - LINK_EVERY)
        for account in super().get_users(email):
            if Account.objects.filter(free, pk=account.pk).update(password_mail_at=self.at):
                yield account
