"""What comes of the history: reminders, calendars, webhooks, plans, files and the chain."""

from collections.abc import Iterable
from typing import Any

from django.contrib import admin

from maintenance import models
from maintenance.admin.forms import of_one_collection
from maintenance.admin.pages import Checked, ShownOnly, parts_of
from maintenance.services import part_offers
from maintenance.services.refusals import Problem
from maintenance.services.reminders import preference_problems

_WRITE = {"channels": '["email"]', "lead_days": "[60, 30, 7, 0]"}


def _no_list_of(row: models.ReminderPreference, name: str, kind: type) -> Iterable[Problem]:
    given = getattr(row, name)
    if not isinstance(given, list) or any(type(each) is not kind for each in given):
        yield Problem(f"/{name}", f"is no list of such values; write for example {_WRITE[name]}")


@admin.register(models.ReminderPreference)
class ReminderPreferenceAdmin(Checked):
    list_display = ("member", "digest", "whole_collection")
    list_filter = ("digest",)
    search_fields = ("member__name",)
    autocomplete_fields = ("collection", "member")
    belongs_to = ("collection", "member")

    def problems(self, row: models.ReminderPreference, before: Any) -> Iterable[Problem]:
        yield from of_one_collection(row, ["member"])
        wrong = [*_no_list_of(row, "channels", str), *_no_list_of(row, "lead_days", int)]
        # What is no list of such things can't be looked at further.
        yield from wrong or preference_problems(row)


@admin.register(models.Reminder)
class ReminderAdmin(ShownOnly):
    list_display = ("vehicle", "item_key", "due_on", "lead_days", "member", "channel", "state")
    list_filter = ("state", "channel")
    list_select_related = ("vehicle", "member")
    search_fields = ("vehicle__registration", "member__name")


@admin.register(models.Message)
class MessageAdmin(ShownOnly):
    list_display = ("member", "channel", "state", "not_before", "sent_at", "attempts")
    list_filter = ("state", "channel")
    list_select_related = ("member",)
    search_fields = ("member__name",)


@admin.register(models.Invitation)
class InvitationAdmin(ShownOnly):
    list_display = ("email", "role", "collection", "state", "expires_at")
    list_filter = ("state", "role")
    list_select_related = ("collection",)
    search_fields = ("email", "name")
    exclude = ("digest",)


@admin.register(models.Transfer)
class TransferAdmin(ShownOnly):
    list_display = ("registration", "collection", "elsewhere", "state", "offered_at", "on")
    list_filter = ("state", "elsewhere")
    list_select_related = ("collection",)
    search_fields = ("registration",)
    exclude = ("digest",)


@admin.register(models.Letter)
class LetterAdmin(ShownOnly):
    """Mail to people who need not be members: what waits, and what could not be delivered."""

    list_display = ("to", "state", "next_at", "sent_at", "failures", "last_error")
    list_filter = ("state",)


@admin.register(models.NightlyPass)
class NightlyPassAdmin(ShownOnly):
    list_display = ("collection", "done_on", "leased_until")
    list_select_related = ("collection",)


@admin.register(models.CalendarFeed)
class CalendarFeedAdmin(ShownOnly):
    list_display = ("name", "member", "scope", "form", "issued_at")
    list_select_related = ("member",)
    search_fields = ("name", "member__name")
    exclude = ("digest",)


@admin.register(models.CalendarEntry)
class CalendarEntryAdmin(ShownOnly):
    list_display = ("vehicle", "key", "sequence", "changed_at", "cancelled_at")
    list_select_related = ("vehicle",)
    search_fields = ("vehicle__registration",)


@admin.register(models.Webhook)
class WebhookAdmin(ShownOnly):
    """Where other programs are told; the secrets that sign the messages have no page."""

    list_display = ("name", "member", "url", "failing_since", "disabled_at")
    list_select_related = ("member",)
    search_fields = ("name", "member__name", "url")


@admin.register(models.WebhookDelivery)
class WebhookDeliveryAdmin(ShownOnly):
    list_display = ("webhook", "event", "state", "queued_at", "attempt_count", "last_status")
    list_filter = ("state", "event")
    list_select_related = ("webhook",)
    inlines = (parts_of(models.WebhookAttempt),)


@admin.register(models.WebhookAttempt)
class WebhookAttemptAdmin(ShownOnly):
    list_display = ("delivery", "at", "status", "duration_ms", "error")
    list_select_related = ("delivery",)


@admin.register(models.PartOffer)
class PartOfferAdmin(Checked):
    list_display = ("name", "kind", "position", "supplier", "price", "currency", "lead_days")
    search_fields = ("name", "kind", "supplier", "part_number")
    autocomplete_fields = ("collection",)

    def problems(self, row: models.PartOffer, before: Any) -> Iterable[Problem]:
        return part_offers.description_problems(row)


@admin.register(models.RecommissioningPlan)
class RecommissioningPlanAdmin(ShownOnly):
    list_display = ("vehicle", "by", "state", "planned_on")
    list_filter = ("state",)
    list_select_related = ("vehicle",)
    search_fields = ("vehicle__registration",)
    inlines = tuple(
        parts_of(of) for of in (models.PlanPerson, models.PlanResource, models.PlanNeed)
    )


@admin.register(models.PlanPerson)
class PlanPersonAdmin(ShownOnly):
    list_display = ("name", "plan")


@admin.register(models.PlanResource)
class PlanResourceAdmin(ShownOnly):
    list_display = ("name", "capacity", "plan")


@admin.register(models.PlanNeed)
class PlanNeedAdmin(ShownOnly):
    list_display = ("kind", "position", "task", "origin", "plan")


@admin.register(models.PlanJob)
class PlanJobAdmin(ShownOnly):
    list_display = ("key", "plan", "state", "starts_on", "done_on")
    list_filter = ("state",)
    search_fields = ("key", "plan__vehicle__registration")


@admin.register(models.PlanPart)
class PlanPartAdmin(ShownOnly):
    list_display = ("name", "supplier", "order_by", "ordered_on", "arrives_on")
    search_fields = ("name", "supplier")


@admin.register(models.Attachment)
class AttachmentAdmin(ShownOnly):
    list_display = ("vehicle", "service_event", "recorded_at")
    list_select_related = ("vehicle", "service_event")


@admin.register(models.Departure)
class DepartureAdmin(ShownOnly):
    list_display = ("vehicle", "recorded_at", "current", "withdrawn")
    list_select_related = ("vehicle",)


@admin.register(models.Arrival)
class ArrivalAdmin(ShownOnly):
    list_display = ("vehicle", "component", "on", "recorded_at", "current", "withdrawn")
    list_select_related = ("vehicle", "component")


@admin.register(models.Postponement)
class PostponementAdmin(ShownOnly):
    list_display = ("vehicle", "recorded_at", "current", "withdrawn")
    list_select_related = ("vehicle",)


@admin.register(models.HistoryLink)
class HistoryLinkAdmin(ShownOnly):
    list_display = ("vehicle", "sequence", "kind", "digest")
    list_select_related = ("vehicle",)


@admin.register(models.TextErasure)
class TextErasureAdmin(ShownOnly):
    list_display = ("vehicle", "table", "field", "recorded_at")
    list_select_related = ("vehicle",)


@admin.register(models.Handover, models.StoreClimateRecord, models.KeptIn)
class PlainlyShownAdmin(ShownOnly):
    """Rows that services write and whose own words say enough."""


@admin.register(models.ImportJob, models.ExportJob)
class FileJobAdmin(ShownOnly):
    list_display = ("id", "member", "form", "state")
    list_filter = ("state",)
    list_select_related = ("member",)


@admin.register(models.ImportProblem)
class ImportProblemAdmin(ShownOnly):
    list_display = ("job", "column", "pointer", "detail")
