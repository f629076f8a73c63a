"""Reminders: what members were told or are to be told, and what could not be delivered."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OfVehicle, filters
from api.resources.base import Listed
from api.serializers import StrictModelSerializer
from maintenance.models import Message, Reminder
from maintenance.queries.today import this_instant
from maintenance.services.reminders import send_again

NOT_AN_OFFICER = "Only an officer of the collection sends undelivered reminders again."


class MessageSerializer(StrictModelSerializer):
    """The message a reminder goes out in, by itself or in a digest, and how that went."""

    class Meta:
        model = Message
        fields = (
            *("id", "state", "digest", "not_before", "next_at", "attempts", "failures"),
            *("unknown_outcomes", "last_error", "sent_at"),
        )
        read_only_fields = fields


class ReminderSerializer(StrictModelSerializer):
    """One member, one due item, one lead time, one channel: told once."""

    registration = serializers.CharField(source="vehicle.registration", read_only=True)
    message = MessageSerializer(read_only=True)

    class Meta:
        model = Reminder
        fields = (
            *("id", "collection", "vehicle", "registration", "due_item", "due_on", "lead_days"),
            *("member", "channel", "state", "reason", "found_at", "message"),
        )
        read_only_fields = fields


class ReminderFilters(OfVehicle):
    state = filters.ChoiceFilter(choices=Reminder.State.choices, label="State.")
    member = filters.UUIDFilter(field_name="member_id", label="Identifier of a member.")
    channel = filters.CharFilter(label="Channel.")


class Reminders(Listed):
    """Your own reminders; officers see those of their whole collection."""

    noun, nouns = "reminder", "reminders"
    serializer_class = ReminderSerializer
    filterset_class = ReminderFilters
    verbs = Listed.verbs | {"again": "send again"}
    said = {"again": ("Send an undelivered reminder again", "send_reminder_again")}
    example = {
        "id": "01931b5e-7e40-7a11-9d2e-0b1c2d3e4f74",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
        "registration": "VO 1964",
        "due_item": "01931b5e-8000-7c31-8f2a-5a6c0f1e2d3c",
        "due_on": "2027-01-24",
        "lead_days": 60,
        "member": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "channel": "email",
        "state": "undelivered",
        "reason": "",
        "found_at": "2026-11-25T09:30:00Z",
        "message": {
            "id": "01931b5e-7e41-7a11-9d2e-0b1c2d3e4f75",
            "state": "undelivered",
            "digest": True,
            "not_before": "2026-11-26T08:00:00Z",
            "next_at": "2026-11-26T08:10:00Z",
            "attempts": 1,
            "failures": 1,
            "unknown_outcomes": 0,
            "last_error": "550 5.1.1 no such mailbox",
            "sent_at": None,
        },
    }

    def get_queryset(self) -> QuerySet[Reminder]:
        return self.in_sight(Reminder.objects.all())

    @action(detail=True, methods=["post"])
    def again(self, request: Request, pk: Any) -> Response:
        """Send the message of an undelivered reminder again, with all that stands in it."""
        reminder = self.instance(pk)
        if not self.may(reminder.collection):
            raise PermissionDenied(NOT_AN_OFFICER)
        send_again(reminder=reminder, at=this_instant())
        return self.created(pk)
