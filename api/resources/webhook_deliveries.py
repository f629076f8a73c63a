"""The log of what was sent to webhooks, and messages sent again."""

from collections import defaultdict
from typing import Any

from django.db.models import F, QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OfCollection, filters
from api.resources.base import Listed
from api.serializers import StrictModelSerializer
from api.shapes import Row, shape_of
from maintenance.models import WebhookAttempt, WebhookDelivery
from maintenance.models.webhooks import message_id
from maintenance.queries.today import this_instant
from maintenance.services import webhooks


class WebhookAttemptSerializer(StrictModelSerializer):
    """One try, and the status answered or what kept an answer from coming."""

    class Meta:
        model = WebhookAttempt
        fields = ("at", "duration_ms", "status", "error")
        read_only_fields = fields


class WebhookDeliverySerializer(StrictModelSerializer):
    """A message to a webhook and what became of it, try by try."""

    message_id = serializers.CharField(
        source="*", read_only=True, help_text="What its header `webhook-id` says, at every try."
    )
    body = serializers.CharField(read_only=True, help_text="The JSON that is signed and sent.")
    member = serializers.UUIDField(
        source="webhook.member_id", read_only=True, help_text="Whose webhook it is."
    )
    attempts = WebhookAttemptSerializer(many=True, read_only=True)

    class Meta:
        model = WebhookDelivery
        fields = (
            *("id", "collection", "webhook", "member", "reminder", "message_id", "event", "state"),
            *("reason", "queued_at", "next_attempt_at", "finished_at", "last_status"),
            *("last_error", "body", "attempts"),
        )
        read_only_fields = fields


DELIVERY_EXAMPLE: Row = {
    "id": "01931b5e-7e20-7a11-9d2e-0b1c2d3e4f72",
    "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
    "webhook": "01931b5e-7e10-7a11-9d2e-0b1c2d3e4f71",
    "member": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
    "reminder": None,
    "message_id": "msg_01931b5e7e207a119d2e0b1c2d3e4f72",
    "event": "webhook.test",
    "state": "taken",
    "reason": "",
    "queued_at": "2026-11-25T09:30:00Z",
    "next_attempt_at": "2026-11-25T09:31:00Z",
    "finished_at": "2026-11-25T09:30:01Z",
    "last_status": 204,
    "last_error": "",
    "body": '{"type":"webhook.test","timestamp":"2026-11-25T09:30:00+00:00","data":{}}',
    "attempts": [{"at": "2026-11-25T09:30:01Z", "duration_ms": 84, "status": 204, "error": ""}],
}


class WebhookDeliveryFilters(OfCollection):
    webhook = filters.UUIDFilter(field_name="webhook_id", label="Identifier of a webhook.")
    state = filters.ChoiceFilter(choices=WebhookDelivery.State.choices, label="State.")


class WebhookDeliveries(Listed):
    """What was sent to your webhooks; officers see what was sent to those of their collection."""

    noun, nouns = "webhook delivery", "webhook deliveries"
    serializer_class = WebhookDeliverySerializer
    filterset_class = WebhookDeliveryFilters
    verbs = Listed.verbs | {"again": "send again"}
    said = {"again": ("Send a webhook delivery again", "send_webhook_delivery_again")}
    example = DELIVERY_EXAMPLE

    def get_queryset(self) -> QuerySet[WebhookDelivery]:
        return self.in_sight(WebhookDelivery.objects.all())

    def complete(self, items: list[Row]) -> list[Row]:
        return with_attempts(items)

    @action(detail=True, methods=["post"])
    def again(self, request: Request, pk: Any) -> Response:
        webhooks.send_again(delivery=self.instance(pk), at=this_instant())
        return self.created(pk)


def with_attempts(items: list[Row]) -> list[Row]:
    """Add to deliveries how they are known to receivers, and their tries; one query."""
    attempts: defaultdict[Any, list[Row]] = defaultdict(list)
    shape = shape_of(WebhookAttemptSerializer)
    tried = WebhookAttempt.objects.filter(delivery__in=[item["id"] for item in items])
    for row in shape.read(tried.order_by("id")).annotate(_delivery=F("delivery_id")):
        attempts[row["_delivery"]].append(shape.shaped(row) or {})
    return [
        item | {"message_id": message_id(item["id"]), "attempts": attempts[item["id"]]}
        for item in items
    ]
