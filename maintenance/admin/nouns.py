"""The nouns of the history: cars, what is on record of them, and who may see it."""

from collections.abc import Iterable
from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from maintenance import models
from maintenance.admin.forms import of_one_collection
from maintenance.admin.pages import (
    AnyUserAdmin,
    Checked,
    Described,
    KeptForGood,
    ShownOnly,
    parts_of,
    today_of,
)
from maintenance.queries.today import this_instant
from maintenance.services import components, members, papers, specification, vehicles
from maintenance.services.as_drafts import paper_draft, specification_draft, vehicle_draft
from maintenance.services.cars import closed_problems
from maintenance.services.collections import collection_problems
from maintenance.services.interval_rules import row_problems
from maintenance.services.refusals import Problem
from maintenance.services.sign_in import unlock


@admin.register(models.Account)
class AccountAdmin(AnyUserAdmin):
    actions = ("unlock",)

    @admin.action(description="Let those chosen try to sign in again", permissions=["change"])
    def unlock(self, request: HttpRequest, queryset: QuerySet[models.Account]) -> None:
        for account in queryset:
            unlock(username=account.get_username())


@admin.register(models.AccessToken)
class AccessTokenAdmin(ShownOnly):
    """Tokens are issued by `manage.py issue_token`; here they are looked over and revoked."""

    list_display = ("name", "account", "scope", "issued_at", "expires_at", "last_used_at")
    list_filter = ("scope",)
    search_fields = ("name", "account__username")
    exclude = ("digest",)
    actions = ("revoke",)

    @admin.action(description="Revoke the tokens chosen", permissions=["revoke"])
    def revoke(self, request: HttpRequest, queryset: QuerySet[models.AccessToken]) -> None:
        queryset.filter(revoked_at=None).update(revoked_at=this_instant())

    def has_revoke_permission(self, request: HttpRequest) -> bool:
        return request.user.has_perm("maintenance.change_accesstoken")


@admin.register(models.Collection)
class CollectionAdmin(KeptForGood):
    list_display = ("name", "time_zone", "distance_unit")
    search_fields = ("name",)
    ordering = ("name", "id")
    belongs_to = ()

    def touched(self, obj: models.Collection) -> Iterable[models.Vehicle]:
        return models.Vehicle.objects.filter(collection=obj)

    def problems(self, row: models.Collection, before: Any) -> Iterable[Problem]:
        return collection_problems(
            name=row.name, time_zone=row.time_zone, distance_unit=row.distance_unit
        )


@admin.register(models.Member)
class MemberAdmin(Checked):
    """One at a time: who lets several go may let the last secretary go."""

    list_display = ("name", "role", "collection", "account")
    list_filter = ("role",)
    search_fields = ("name", "account__username")
    autocomplete_fields = ("collection", "account")
    belongs_to = ("collection", "account")

    def problems(self, row: models.Member, before: Any) -> Iterable[Problem]:
        return members.changed_member_problems(row) if before else members.new_member_problems(row)

    def lock(self, row: models.Member) -> None:
        members.lock_members(row)

    def get_actions(self, request: HttpRequest) -> Any:
        actions = super().get_actions(request)
        actions.pop("delete_selected", None)
        return actions

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        may = super().has_delete_permission(request, obj)
        return may and (obj is None or members.other_secretaries(obj))

    def delete_model(self, request: HttpRequest, obj: models.Member) -> None:
        members.remove_member(member=obj, today=today_of(obj))


@admin.register(models.Vehicle)
class VehicleAdmin(KeptForGood):
    list_display = ("registration", "make", "model", "collection", "keeper")
    search_fields = ("registration", "chassis_number", "make", "model")
    autocomplete_fields = ("collection", "keeper")
    belongs_to = ("collection",)

    def touched(self, obj: models.Vehicle) -> Iterable[models.Vehicle]:
        return [obj]

    def problems(self, row: models.Vehicle, before: models.Vehicle | None) -> Iterable[Problem]:
        said = None if before is None else vehicle_draft(before)
        yield from closed_problems(row)
        yield from vehicles.description_problems(row, before=said, today=today_of(row))


@admin.register(models.Component)
class ComponentAdmin(KeptForGood):
    list_display = ("kind", "position", "vehicle")
    search_fields = ("kind", "position", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle", "assembly")
    #: Its history is of its kind: of another one, work on a battery would be work on a tyre.
    belongs_to = ("collection", "vehicle", "kind")

    def problems(self, row: models.Component, before: models.Component | None) -> Iterable[Problem]:
        yield from _of_its_car(row)
        yield from components.description_problems(row, before=before)


@admin.register(models.IntervalRule)
class IntervalRuleAdmin(Described):
    list_display = ("name", "kind", "task", "collection", "vehicle", "make", "model")
    list_filter = ("task", "criticality")
    search_fields = ("name", "kind")
    autocomplete_fields = ("collection", "vehicle")

    def touched(self, obj: models.IntervalRule) -> Iterable[models.Vehicle]:
        cars = models.Vehicle.objects.filter(collection=obj.collection_id)
        return cars.filter(pk=obj.vehicle_id) if obj.vehicle_id else cars

    def problems(self, row: models.IntervalRule, before: Any) -> Iterable[Problem]:
        if row.vehicle is not None:
            yield from closed_problems(row.vehicle)
        if not row.wear_quantity and (row.wear_unit or _wear_limits(row)):
            yield Problem("/wear/quantity", "is missing; name what is measured")
        yield from row_problems(row)


def _wear_limits(row: models.IntervalRule) -> bool:
    return any(limit is not None for limit in (row.wear_new, row.wear_minimum, row.wear_maximum))


@admin.register(models.Paper)
class PaperAdmin(Described):
    list_display = ("kind", "vehicle", "until")
    list_filter = ("kind",)
    search_fields = ("number", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle")

    def problems(self, row: models.Paper, before: models.Paper | None) -> Iterable[Problem]:
        yield from _of_its_car(row)
        yield from papers.description_problems(row.vehicle, paper_draft(row), before)


@admin.register(models.SpecificationLine)
class SpecificationLineAdmin(Described):
    list_display = ("item", "value", "unit", "vehicle", "handbook_page")
    search_fields = ("item", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle")

    def problems(
        self, row: models.SpecificationLine, before: models.SpecificationLine | None
    ) -> Iterable[Problem]:
        yield from _of_its_car(row)
        draft = specification_draft(row)
        yield from specification.description_problems(row.vehicle, draft, before)


def _of_its_car(row: Any) -> Iterable[Problem]:
    """Refuse a car of another collection than the row's, and one whose record is closed."""
    yield from of_one_collection(row, ["vehicle"])
    yield from closed_problems(row.vehicle)


class EvidenceAdmin(ShownOnly):
    """A record with its origin: who made it, when, and what it supersedes."""

    list_filter = ("current", "withdrawn")
    search_fields = ("vehicle__registration",)
    list_select_related = ("vehicle",)


@admin.register(models.LayUp)
class LayUpAdmin(EvidenceAdmin):
    list_display = ("vehicle", "from_on", "to_on", "storage", "current", "withdrawn")


@admin.register(models.OdometerReading)
class OdometerReadingAdmin(EvidenceAdmin):
    list_display = ("vehicle", "on", "value", "current", "withdrawn")


@admin.register(models.OdometerChange)
class OdometerChangeAdmin(EvidenceAdmin):
    list_display = ("vehicle", "on", "old_value", "new_value", "current", "withdrawn")


@admin.register(models.ServiceEvent)
class ServiceEventAdmin(EvidenceAdmin):
    list_display = ("vehicle", "on_stated", "odometer", "done_by", "current", "withdrawn")
    inlines = (parts_of(models.Entry),)


@admin.register(models.Entry)
class EntryAdmin(ShownOnly):
    list_display = ("event", "component", "action")
    list_filter = ("action",)
    list_select_related = ("event", "component")
    inlines = (parts_of(models.Measurement), parts_of(models.CarriedOver))


@admin.register(models.Measurement)
class MeasurementAdmin(ShownOnly):
    list_display = ("entry", "quantity", "value", "unit")
    list_filter = ("quantity",)
    list_select_related = ("entry__component",)


@admin.register(models.CarriedOver)
class CarriedOverAdmin(ShownOnly):
    list_display = ("entry", "component")
    list_select_related = ("entry__component", "component")


@admin.register(models.Inspection)
class InspectionAdmin(EvidenceAdmin):
    list_display = ("vehicle", "on", "result", "expires_on", "current", "withdrawn")
    inlines = (parts_of(models.Finding),)


@admin.register(models.Finding)
class FindingAdmin(ShownOnly):
    list_display = ("inspection", "component", "category")
    list_filter = ("category",)
    list_select_related = ("inspection", "component")


@admin.register(models.DueItem)
class DueItemAdmin(ShownOnly):
    list_display = ("vehicle", "rule", "position", "governed_by", "due_on")
    list_filter = ("governed_by",)
    search_fields = ("vehicle__registration", "rule")
    list_select_related = ("vehicle",)
