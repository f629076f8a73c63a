"""Webhooks: addresses of other programs that are told what their member is reminded of."""

import datetime
from typing import Any

from django.urls import reverse
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import FlagFilter, OfCollection
from api.resources.described import Changing
from api.resources.issued import Issued, OwnMember
from api.resources.webhook_deliveries import (
    DELIVERY_EXAMPLE,
    WebhookDeliverySerializer,
    with_attempts,
)
from api.serializers import StrictModelSerializer, StrictSerializer
from api.shapes import Row, shape_of
from maintenance.models import Webhook, WebhookDelivery
from maintenance.queries.today import this_instant
from maintenance.services import webhooks


class WebhookSerializer(StrictModelSerializer):
    """A webhook; the secret that signs its messages is shown when it is issued."""

    member = OwnMember(help_text="Identifier of the membership whose reminders are sent.")

    class Meta:
        model = Webhook
        fields: tuple[str, ...] = (
            *("id", "collection", "member", "version", "name", "url", "added_at"),
            *("failing_since", "disabled_at", "disabled_because"),
        )
        read_only_fields = (
            *("id", "collection", "version", "added_at"),
            *("failing_since", "disabled_at", "disabled_because"),
        )


class WebhookChange(Changing, WebhookSerializer):
    """What of a webhook may be changed; its secrets stay."""

    stays = ("member",)


class WebhookIssued(WebhookSerializer):
    """A webhook with its newest secret, shown this once."""

    secret = serializers.CharField(
        read_only=True, help_text="Signs by the Standard Webhooks scheme, `v1`."
    )

    class Meta(WebhookSerializer.Meta):
        fields = (*WebhookSerializer.Meta.fields, "secret")


class SecretExchange(StrictSerializer):
    """How long the old secret goes on signing beside the new one."""

    overlap_hours = serializers.IntegerField(
        min_value=0,
        max_value=webhooks.LONGEST_OVERLAP.days * 24,
        default=webhooks.OVERLAP.days * 24,
        help_text="[hours]; 0 ends the old secret at once.",
    )


class WebhookFilters(OfCollection):
    disabled = FlagFilter(
        field_name="disabled_at",
        lookup_expr="isnull",
        exclude=True,
        label="Only those that are disabled, or only those that are not.",
    )


class Webhooks(Issued):
    """Your webhooks."""

    noun, nouns = "webhook", "webhooks"
    model = Webhook
    serializer_class = WebhookSerializer
    change_class = WebhookChange
    issued_class = WebhookIssued
    filterset_class = WebhookFilters
    another = "If it never arrived, exchange it: POST to `secrets` below the webhook's address."
    issuing = frozenset({"create", "secrets"})
    verbs = Issued.verbs | {"secrets": "change", "test": "change", "enable": "change"}
    said = {
        "secrets": ("Exchange the secret of a webhook", "exchange_webhook_secret"),
        "test": ("Send a webhook a test message", "test_webhook"),
        "enable": ("Enable a disabled webhook", "enable_webhook"),
    }
    example = {
        "id": "01931b5e-7e10-7a11-9d2e-0b1c2d3e4f71",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "member": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "version": 1,
        "name": "the club's parts shelf",
        "url": "https://shelf.example/due",
        "added_at": "2026-11-25T09:30:00Z",
        "failing_since": None,
        "disabled_at": None,
        "disabled_because": "",
    }
    example_secret = {"secret": "whsec_YW4tZXhhbXBsZS10aGF0LXNpZ25zLW5vdGhpbmc="}
    example_change = {"url": "https://shelf.example/hooks/due"}

    def create(self, request: Request) -> Response:
        webhook, secret = webhooks.add_webhook(**self.given(), at=this_instant())
        return self.issued(webhook.pk, secret=secret)

    @action(detail=True, methods=["post"])
    def secrets(self, request: Request, pk: Any) -> Response:
        webhook = self.instance(pk)
        overlap = datetime.timedelta(hours=self.given(SecretExchange)["overlap_hours"])
        secret = webhooks.exchange_secret(webhook=webhook, at=this_instant(), overlap=overlap)
        return self.issued(pk, secret=secret)

    @action(detail=True, methods=["post"])
    def test(self, request: Request, pk: Any) -> Response:
        queued = webhooks.send_test(webhook=self.instance(pk), at=this_instant())
        shape = shape_of(WebhookDeliverySerializer)
        row = shape.read(WebhookDelivery.objects.filter(pk=queued.pk)).get()
        path = reverse("webhook-deliveries-detail", kwargs={"pk": queued.pk})
        return Response(
            with_attempts([shape.shaped(row) or {}])[0],
            status=status.HTTP_201_CREATED,
            headers={"Location": request.build_absolute_uri(path)},
        )

    @action(detail=True, methods=["post"])
    def enable(self, request: Request, pk: Any) -> Response:
        webhooks.enable_webhook(webhook=self.instance(pk), at=this_instant())
        return self.created(pk)

    def change(self, *, row: Webhook, given: Row, today: Any) -> Any:
        return webhooks.change_webhook(webhook=row, version=row.version, changes=given)

    def remove(self, *, row: Webhook, today: Any) -> None:
        webhooks.remove_webhook(webhook=row, version=row.version)

    def takes(self, action: str) -> Any:
        return SecretExchange if action == "secrets" else super().takes(action)

    def answers(self, action: str) -> Any:
        return WebhookDeliverySerializer if action == "test" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        return DELIVERY_EXAMPLE if action == "test" else super().example_answer(action)

    def example_request(self, action: str) -> Any:
        return {"overlap_hours": 24} if action == "secrets" else super().example_request(action)
