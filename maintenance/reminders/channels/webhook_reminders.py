"""Reminders handed over to webhooks: whether they are still true, and what came of them."""

import datetime
import uuid
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.models import Message, Reminder, WebhookDelivery
from maintenance.reminders.validity import why_no_longer

State = WebhookDelivery.State


def why_dropped(delivery: WebhookDelivery, at: datetime.datetime) -> str:
    """Return why a delivery is not to be sent any more, empty if it is or tells of no reminder.

    Asked before each try: work can be recorded while a receiver is down. Costs some seven queries.
    """
    if delivery.reminder_id is None:
        return ""
    rows = Reminder.objects.select_related("vehicle", "collection")
    row = rows.filter(pk=delivery.reminder_id).first()
    return why_no_longer(row, at=at) if row is not None else _("What it told of is gone.")


@transaction.atomic
def settle(reminder: uuid.UUID | None) -> None:
    """Note on a reminder and its message what became of its deliveries, once that is known.

    Sent as soon as one webhook took it; undelivered when none did and none is still being tried.
    To be called whenever a delivery has come to an end.
    """
    row = None if reminder is None else Reminder.objects.filter(pk=reminder).first()
    if row is None:
        return
    # Of two deliveries that end at once each would take the other for one that is still tried.
    message = Message.objects.select_for_update().filter(pk__in=[row.message_id]).first()
    found = list(WebhookDelivery.objects.filter(reminder=row).order_by("finished_at", "id"))
    taken = [each for each in found if each.state == State.TAKEN]
    if taken:
        _note(row, message, Message.State.SENT, sent_at=taken[0].finished_at)
    elif any(each.state == State.WAITING for each in found):
        return
    elif given_up := [each for each in found if each.state == State.GIVEN_UP]:
        _note(row, message, Message.State.UNDELIVERED, last_error=given_up[-1].last_error)
    elif found:
        _note(row, message, Message.State.DROPPED, reason=found[-1].reason)
    else:
        text = _("The webhook was removed before it took it.")
        _note(row, message, Message.State.UNDELIVERED, last_error=text)


def _note(
    reminder: Reminder, message: Message | None, state: str, *, reason: str = "", **values: Any
) -> None:
    """Write an end down; what a webhook took stays taken, whatever became of it before."""
    told = Reminder.objects.filter(pk=reminder.pk)
    sent = Message.objects.filter(pk__in=[] if message is None else [message.pk])
    if state == Message.State.SENT:
        told, sent = told.exclude(state=state), sent.exclude(state=state)
    else:
        told = told.filter(state=Reminder.State.WAITING)
        # One that waits is on its way to the webhooks once more.
        sent = sent.filter(state__in=(Message.State.CLAIMED, Message.State.HANDED_OVER))
    sent.update(state=state, claim=None, handed_at=None, **values)
    told.update(state=state, reason=reason)
