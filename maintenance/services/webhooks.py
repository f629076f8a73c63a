"""Add webhooks, exchange their secrets, try them out, send messages again."""

import datetime
from collections.abc import Iterator, Mapping

from django.conf import settings
from django.db import transaction

from maintenance.models import Member, Webhook, WebhookDelivery, WebhookSecret
from maintenance.models.base import new_id
from maintenance.reminders.channels.webhook_deliveries import live_secrets, queue, try_anew
from maintenance.reminders.channels.webhook_guard import NotAllowed, target_of
from maintenance.reminders.channels.webhook_reminders import settle
from maintenance.reminders.channels.webhook_signature import new_secret
from maintenance.services.checks.figures import text_problems
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.versions import locked_at

TEST_EVENT = "webhook.test"
MOST_WEBHOOKS = 10
OVERLAP = datetime.timedelta(days=1)
"""How long an old secret goes on signing beside a new one, unless the member says otherwise."""
LONGEST_OVERLAP = datetime.timedelta(days=30)


@transaction.atomic
def add_webhook(
    *, member: Member, name: str, url: str, at: datetime.datetime
) -> tuple[Webhook, str]:
    """Add a webhook; return it with the secret that signs what is sent to it, shown this once.

    Refused: no name, an address that is not to be reached, the same address twice, and more than
    `MOST_WEBHOOKS` for one member. Whether the host leads to a private address is found out at
    each delivery, because that can change from one to the next.
    """
    # Without the lock two requests could each find room for the last one.
    member = Member.objects.select_for_update(no_key=True).get(pk=member.pk)
    webhook = Webhook(
        member=member, collection_id=member.collection_id, name=name, url=url, added_at=at
    )
    problems = list(_problems(webhook))
    if Webhook.objects.filter(member=member).count() >= MOST_WEBHOOKS:
        problems.append(Problem("", f"there are {MOST_WEBHOOKS} webhooks already; remove one"))
    refuse_if_any(problems)
    webhook.save(force_insert=True)
    return webhook, _issue_secret(webhook, at)


@transaction.atomic
def change_webhook(*, webhook: Webhook, version: int, changes: Mapping[str, str]) -> Webhook:
    """Change name or address; refused as in `add_webhook`. What is queued goes to the new one."""
    row = locked_at(webhook, version)
    row.name, row.url = changes.get("name", row.name), changes.get("url", row.url)
    refuse_if_any(_problems(row))
    row.save(update_fields=["name", "url", "version"])
    return row


@transaction.atomic
def remove_webhook(*, webhook: Webhook, version: int) -> None:
    """Remove a webhook with its log and all that is queued for it."""
    row = locked_at(webhook, version)
    queued = row.deliveries.filter(state=WebhookDelivery.State.WAITING, reminder__isnull=False)
    untold = list(queued.values_list("reminder", flat=True))
    row.delete()
    for reminder in untold:
        settle(reminder)


@transaction.atomic
def exchange_secret(
    *, webhook: Webhook, at: datetime.datetime, overlap: datetime.timedelta = OVERLAP
) -> str:
    """Issue another secret and return it, shown this once; the old one signs on for `overlap`.

    Never more than two sign: an exchange during another ends the oldest at once. Refused: an
    overlap that is negative or longer than `LONGEST_OVERLAP`.
    """
    if not datetime.timedelta() <= overlap <= LONGEST_OVERLAP:
        text = f"is out of range; give 0 to {LONGEST_OVERLAP.days * 24} hours"
        raise Refused([Problem("/overlap_hours", text)])
    Webhook.objects.select_for_update(no_key=True).get(pk=webhook.pk)
    live = list(live_secrets(webhook, at))
    WebhookSecret.objects.filter(webhook=webhook).exclude(pk__in=[live[0].pk]).delete()
    live[0].expires_at = at + overlap
    live[0].save(update_fields=["expires_at"])
    return _issue_secret(webhook, at)


@transaction.atomic
def enable_webhook(*, webhook: Webhook, at: datetime.datetime) -> None:
    """Try a disabled webhook again, and with it all that is queued; no harm if it is enabled."""
    row = Webhook.objects.select_for_update(no_key=True).get(pk=webhook.pk)
    row.disabled_at = row.failing_since = row.notified_at = None
    row.disabled_because, row.version = "", row.version + 1
    row.save()
    row.deliveries.filter(state=WebhookDelivery.State.WAITING).update(
        first_tried_at=None, next_attempt_at=at
    )


@transaction.atomic
def send_test(*, webhook: Webhook, at: datetime.datetime) -> WebhookDelivery:
    """Queue a message that says nothing of any car; refused while the webhook is disabled."""
    _require_enabled(webhook)
    data = {"webhook": str(webhook.pk), "message": "A test: nothing falls due by this."}
    return queue(webhook, event=TEST_EVENT, key=f"test:{new_id()}", data=data, at=at)


@transaction.atomic
def send_again(*, delivery: WebhookDelivery, at: datetime.datetime) -> WebhookDelivery:
    """Put a message back in the queue as it was, under its old identifier.

    Also one that was taken: the receiver may have lost it. What it tells of must still be true when
    it is tried, or it is dropped. Refused while the webhook is disabled and while the message is
    waiting by itself.
    """
    _require_enabled(delivery.webhook)
    if not try_anew(delivery, at=at):
        raise Refused([Problem("", "is waiting to be sent already")])
    delivery.refresh_from_db()
    return delivery


def _require_enabled(webhook: Webhook) -> None:
    if Webhook.objects.filter(pk=webhook.pk, disabled_at__isnull=False).exists():
        raise Refused([Problem("", "the webhook is disabled; enable it first")])


def _issue_secret(webhook: Webhook, at: datetime.datetime) -> str:
    text = new_secret()
    WebhookSecret.objects.create(webhook=webhook, text=text, issued_at=at)
    return text


def _problems(webhook: Webhook) -> Iterator[Problem]:
    yield from text_problems("/name", webhook.name, longest=80, required=True)
    wrong = list(text_problems("/url", webhook.url, longest=2000, required=True))
    if not wrong:
        try:
            target_of(webhook.url, allowed_hosts=settings.WEBHOOK_ALLOWED_HOSTS)
        except NotAllowed as refused:
            wrong.append(Problem("/url", str(refused)))
    yield from wrong
    same = Webhook.objects.filter(member=webhook.member_id, url=webhook.url)
    if same.exclude(pk=webhook.pk).exists():
        yield Problem("/url", "is an address that a webhook of this member has already")
