"""Invoices and photographs that go with service events."""

import uuid
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse
from rest_framework.decorators import action
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from api.file_bodies import AsItIs, FileRenderer, attachment_parsers
from api.filters import OfVehicle, filters
from api.openapi import NounSchema
from api.problems import query_refusal
from api.resources.recorded import EXAMPLE_ORIGIN, ORIGIN, Recorded
from api.serializers import StrictModelSerializer
from maintenance.models import Attachment, ServiceEvent
from maintenance.services.attachments import attach, name_problems
from maintenance.services.checks.attachments import MEDIA_TYPES


class AttachmentSerializer(StrictModelSerializer):
    """A file; its own address ends in `/content`."""

    class Meta:
        model = Attachment
        fields = (
            *("id", "collection", "vehicle", *ORIGIN),
            *("service_event", "name", "media_type", "size", "sha256"),
        )
        read_only_fields = fields


class AttachmentFilters(OfVehicle):
    service_event = filters.UUIDFilter(
        field_name="service_event_id", label="Identifier of a service event."
    )


class AttachmentSchema(NounSchema):
    """Describes calls whose body or answer is a file."""

    def get_examples(self) -> list[OpenApiExample]:
        where: dict[str, Any] = {"response_only": True, "status_codes": ["200"]}
        if self.view.action == "create":
            where = {"request_only": True}
        elif self.view.action != "content":
            return super().get_examples()
        files = [
            OpenApiExample(media_type, "(the bytes of the file)", media_type=media_type, **where)
            for media_type in MEDIA_TYPES
        ]
        return [*super().get_examples(), *files]

    def get_response_serializers(self) -> Any:
        answers = super().get_response_serializers()
        if self.view.action != "content":
            return answers
        problems = {code: each for code, each in answers.items() if code != "200"}
        binary = {"type": "string", "format": "binary"}
        files = {
            ("200", media_type): OpenApiResponse(binary, "The file.") for media_type in MEDIA_TYPES
        }
        return files | problems


class Attachments(Recorded):
    """Attachments. A picture is kept without what its camera wrote beside it."""

    schema = AttachmentSchema()
    noun, nouns = "attachment", "attachments"
    serializer_class = AttachmentSerializer
    filterset_class = AttachmentFilters
    ordering_on_a_car = ("service_event", "id")
    verbs = Recorded.verbs | {"content": "see"}
    said = {
        "create": ("Attach a file to a service event", "attach_file"),
        "content": ("Read an attached file", "read_attachment_content"),
    }
    parameters = {
        "create": {
            "service_event": OpenApiParameter(
                "service_event",
                OpenApiTypes.UUID,
                required=True,
                description="Identifier of the service event.",
            ),
            "name": OpenApiParameter(
                "name", required=True, description="Name of the file, for people."
            ),
        }
    }
    why_withdrawn = "The invoice is another car's."
    example = EXAMPLE_ORIGIN | {
        "service_event": "01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
        "name": "invoice 2026-118.pdf",
        "media_type": "application/pdf",
        "size": 48120,
        "sha256": "9f2b5c1e7d60433f8f4b2f6a5d4c3b2a19080706f5e4d3c2b1a0918273645546",
    }

    def get_parsers(self) -> list[Any]:
        sends_a_file = self.request is None or self.action_map.get("post") == "create"
        return [each() for each in attachment_parsers()] if sends_a_file else super().get_parsers()

    @property
    def body_limit(self) -> int:
        return int(max(settings.ATTACHMENT_LIMIT, super().body_limit))

    def get_queryset(self) -> QuerySet[Attachment]:
        return self.in_sight(Attachment.objects.all())

    def create(self, request: Request) -> Response:
        event, name = self._asked()
        when = self.by_and_when(event.vehicle)
        content = request.data
        if not isinstance(content, bytes) or not content:
            raise ParseError("The body is empty; send the file as the body.")
        made = attach(service_event=event, name=name, content=content, **when)
        return self.created(made.pk)

    @action(
        detail=True,
        methods=["get"],
        renderer_classes=[FileRenderer],
        content_negotiation_class=AsItIs,
    )
    def content(self, request: Request, pk: Any) -> Response:
        row = self.instance(pk)
        headers = {
            # Never shown by the browser in our own name, whatever a file may turn out to be.
            "Content-Disposition": content_disposition_header(True, row.name) or "attachment",
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "X-Content-Type-Options": "nosniff",
        }
        return Response(row.content, content_type=row.media_type, headers=headers)

    def takes(self, action: str) -> Any:
        if action != "create":
            return super().takes(action)
        some = {"type": "string", "format": "binary", "minLength": 1}
        return dict.fromkeys(MEDIA_TYPES, some)

    def example_request(self, action: str) -> Any:
        return None if action == "create" else super().example_request(action)

    def example_answer(self, action: str) -> Any:
        return None if action == "content" else super().example_answer(action)

    def _asked(self) -> tuple[ServiceEvent, str]:
        """Return the event and the name that the query gives."""
        asked = self.request.query_params
        found = None
        try:
            events = self.sight.rows("service-events", ServiceEvent.objects.all())
            key = uuid.UUID(asked.get("service_event", ""))
            found = events.select_related("vehicle__collection").filter(pk=key).first()
        except ValueError:
            pass
        wrong = {}
        if found is None:
            wrong["service_event"] = "is needed: the identifier of a service event you may see."
        for problem in name_problems("", asked.get("name", "")):
            wrong["name"] = problem.message
        if found is None or wrong:
            raise query_refusal(wrong)
        return found, asked["name"]
