"""How a member is reminded: channels, lead times, digest, quiet hours."""

import datetime
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.filters import OfCollection
from api.resources.described import Changing, Kept
from api.resources.issued import OwnMember
from api.serializers import NearestChoiceField, StrictModelSerializer
from api.shapes import Row
from maintenance.models import ReminderPreference
from maintenance.reminders.channels.registry import CHANNELS
from maintenance.services import reminders


class ReminderPreferenceSerializer(StrictModelSerializer):
    """A member's choice. Whoever never made one has the defaults."""

    member = OwnMember(help_text="Identifier of the membership.")
    channels = serializers.ListField(
        child=NearestChoiceField(choices=list(CHANNELS)),
        required=False,
        help_text="Ways to be told; with none the member is not told at all.",
    )
    lead_days = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=reminders.MOST_LEAD_DAYS),
        required=False,
        help_text="Days before the due day on which to be told [days].",
    )

    class Meta:
        model = ReminderPreference
        fields = (
            *("id", "collection", "member", "version", "channels", "lead_days"),
            *("weekly_while_overdue", "digest", "digest_hour", "digest_weekday"),
            *("quiet_from", "quiet_to", "time_zone", "whole_collection"),
        )
        read_only_fields = ("id", "collection", "version")
        extra_kwargs = {
            "digest_hour": {"min_value": 0, "max_value": 23},
            "digest_weekday": {"min_value": 1, "max_value": 7},
        }


class ReminderPreferenceChange(Changing, ReminderPreferenceSerializer):
    """What of a choice may be changed."""

    stays = ("member",)


class ReminderPreferences(Kept):
    """Your own choices, one for each membership; removed, the defaults hold again."""

    noun, nouns = "reminder preference", "reminder preferences"
    owner = "member"
    serializer_class = ReminderPreferenceSerializer
    change_class = ReminderPreferenceChange
    filterset_class = OfCollection
    example = {
        "id": "01931b5e-7e30-7a11-9d2e-0b1c2d3e4f73",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "member": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "version": 1,
        "channels": ["email"],
        "lead_days": [60, 30, 7, 0],
        "weekly_while_overdue": True,
        "digest": "daily",
        "digest_hour": 8,
        "digest_weekday": 1,
        "quiet_from": "21:00:00",
        "quiet_to": "07:00:00",
        "time_zone": "Europe/Lisbon",
        "whole_collection": False,
    }
    example_change = {"digest": "weekly", "lead_days": [30, 7]}

    def get_queryset(self) -> QuerySet[ReminderPreference]:
        return self.in_sight(ReminderPreference.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> ReminderPreference:
        return reminders.choose_reminders(member=given.pop("member"), choice=given)

    def change(self, *, row: ReminderPreference, given: Row, today: datetime.date) -> Any:
        return reminders.change_reminders(preference=row, version=row.version, changes=given)

    def remove(self, *, row: ReminderPreference, today: datetime.date) -> None:
        reminders.forget_choice(preference=row, version=row.version)
