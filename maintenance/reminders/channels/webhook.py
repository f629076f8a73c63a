"""Webhooks: other programs told by HTTP what their member is reminded of.

The outbox hands a reminder over by queueing a delivery for each of the member's webhooks; from
there `webhook_deliveries` sends each until it is taken, and only while it is true. What becomes of
them is what becomes of the reminder. A delivery carries the same identifier each time it is tried:
by that a receiver knows two of them as one.
"""

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.engine.columns import CRITICALITIES
from maintenance.models import Message, Webhook
from maintenance.reminders.channels.contract import Clock, NotDeliverable, WorkedOff
from maintenance.reminders.channels.webhook_deliveries import deliver_queued, queue_reminder
from maintenance.reminders.channels.webhook_notices import send_notices
from maintenance.reminders.channels.webhook_reminders import settle
from maintenance.reminders.lines import Line, working_address

EVENT = "due_item.reminder"


class WebhookChannel:
    """Posts to every webhook of the member that is not disabled."""

    slug = "webhook"
    for_people = False
    settles_itself = True

    def waits_for(self) -> str:
        return ""

    def connection(self) -> AbstractContextManager[None]:
        return nullcontext()

    @transaction.atomic
    def send(self, connection: None, message: Message, lines: Sequence[Line]) -> None:
        webhooks = list(Webhook.objects.filter(member=message.member_id, disabled_at=None))
        if not webhooks:
            raise NotDeliverable(_("The member has no webhook, or all of them are disabled."))
        at = message.handed_at or message.not_before
        for webhook in webhooks:
            for line in lines:
                queue_reminder(webhook, line.reminder, event=EVENT, data=data_of(line), at=at)
        for line in lines:
            # Sent once more after a crash, it may have been taken by all of them meanwhile.
            settle(line.reminder.pk)

    def work_off(self, *, clock: Clock) -> WorkedOff:
        round_ = deliver_queued(clock=clock)
        send_notices(clock=clock)
        return WorkedOff(round_.taken, round_.failed)


def data_of(line: Line) -> dict[str, Any]:
    """Return what a webhook is told of a reminder; units are named beside values."""
    item, car = line.item, line.item.vehicle
    return {
        "reminder": str(line.reminder.pk),
        "lead_days": line.reminder.lead_days,
        "due_item": {
            "id": str(item.pk),
            "component_kind": item.kind,
            "position": item.position,
            "rule": item.rule,
            "task": item.task,
            "criticality": CRITICALITIES[item.criticality_rank],
            "status": item.status,
            "due_on": item.due_on and item.due_on.isoformat(),
            "due_at_odometer": item.due_at_odometer and float(item.due_at_odometer),
            "odometer_unit": car.odometer_unit,
            "governed_by": item.governed_by,
            "sentence": item.sentence,
            "caution": item.caution,
            "working": working_address(item),
        },
        "vehicle": {"id": str(car.pk), "registration": car.registration},
    }
