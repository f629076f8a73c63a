"""Calendar feeds: secret addresses from which calendar programs fetch what falls due."""

from typing import Any

from django.urls import reverse
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OfCollection, filters
from api.resources.described import Changing
from api.resources.issued import Issued, OwnMember
from api.serializers import NearestChoiceField, StrictModelSerializer, VehicleInSight
from api.shapes import Row
from maintenance.models import CalendarFeed, IntervalRule
from maintenance.queries.today import this_instant, today_in
from maintenance.services import calendar_feeds


class CalendarFeedSerializer(StrictModelSerializer):
    """What a calendar shows and whom it belongs to; its address is shown when it is issued."""

    member = OwnMember(help_text="Identifier of the membership whose rights the feed has.")
    vehicle = VehicleInSight(
        required=False, allow_null=True, help_text="The car of a feed of the scope `vehicle`."
    )
    criticalities = serializers.ListField(
        child=NearestChoiceField(choices=IntervalRule.Criticality.choices),
        required=False,
        help_text="Which items are shown; all unless something is said.",
    )
    lead_times = serializers.ListField(
        child=serializers.IntegerField(
            min_value=0, max_value=calendar_feeds.LONGEST_LEAD, help_text="[days]"
        ),
        required=False,
        max_length=calendar_feeds.MOST_ALARMS,
        help_text="How long before the due day an alarm sounds [days].",
    )

    class Meta:
        model = CalendarFeed
        fields: tuple[str, ...] = (
            *("id", "collection", "member", "version", "name", "scope", "vehicle"),
            *("criticalities", "form", "lead_times", "issued_at"),
        )
        read_only_fields = ("id", "collection", "version", "issued_at")


class CalendarFeedChange(Changing, CalendarFeedSerializer):
    """What of a feed may be changed; its address stays."""

    stays = ("member",)


class CalendarFeedIssued(CalendarFeedSerializer):
    """A feed with its address, which is kept nowhere and shown this once."""

    address = serializers.CharField(read_only=True, help_text="Whoever has it can read the feed.")

    class Meta(CalendarFeedSerializer.Meta):
        fields = (*CalendarFeedSerializer.Meta.fields, "address")


class CalendarFeedFilters(OfCollection):
    scope = filters.ChoiceFilter(choices=CalendarFeed.Scope.choices, label="Scope.")


class CalendarFeeds(Issued):
    """Your calendar feeds. Removing one revokes its address."""

    noun, nouns = "calendar feed", "calendar feeds"
    model = CalendarFeed
    serializer_class = CalendarFeedSerializer
    change_class = CalendarFeedChange
    issued_class = CalendarFeedIssued
    filterset_class = CalendarFeedFilters
    another = "If it never arrived, renew it: POST to `address` below the feed's address."
    issuing = frozenset({"create", "address"})
    verbs = Issued.verbs | {"address": "change"}
    said = {
        "address": (
            "Give a calendar feed a new address and end the old one",
            "renew_calendar_feed_address",
        )
    }
    example = {
        "id": "01931b5e-7e00-7a11-9d2e-0b1c2d3e4f70",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "member": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "version": 1,
        "name": "What falls due on my cars",
        "scope": "member",
        "vehicle": None,
        "criticalities": ["safety", "reliability"],
        "form": "events",
        "lead_times": [30, 7],
        "issued_at": "2026-11-25T09:30:00Z",
    }
    example_secret = {
        "address": "https://cars.example/api/calendar/idlecal_an-example-that-opens-nothing.ics"
    }
    example_change = {"lead_times": [60, 14, 0]}

    def create(self, request: Request) -> Response:
        given = self.given()
        member = given.pop("member")
        feed, secret = calendar_feeds.issue_feed(
            member=member, given=given, at=this_instant(), today=today_in(member.collection)
        )
        return self.issued(feed.pk, address=self._address(secret))

    @action(detail=True, methods=["post"])
    def address(self, request: Request, pk: Any) -> Response:
        secret = calendar_feeds.renew_address(feed=self.instance(pk), at=this_instant())
        return self.issued(pk, address=self._address(secret))

    def change(self, *, row: CalendarFeed, given: Row, today: Any) -> Any:
        return calendar_feeds.change_feed(feed=row, version=row.version, changes=given, today=today)

    def remove(self, *, row: CalendarFeed, today: Any) -> None:
        calendar_feeds.revoke_feed(feed=row, version=row.version)

    def _address(self, secret: str) -> str:
        path = reverse("calendar-feed", kwargs={"secret": secret})
        return self.request.build_absolute_uri(path)
