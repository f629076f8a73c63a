"""The nouns of the history: cars, what is on record of them, and who may see it."""

from collections.abc import Iterable

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from maintenance import models
from maintenance.admin.pages import (
    AnyModelAdmin,
    AnyUserAdmin,
    Described,
    KeptForGood,
    ShownOnly,
    parts_of,
)
from maintenance.queries.today import this_instant
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


@admin.register(models.Member)
class MemberAdmin(AnyModelAdmin):
    list_display = ("name", "role", "collection", "account")
    list_filter = ("role",)
    search_fields = ("name", "account__username")
    readonly_fields = ("version",)
    autocomplete_fields = ("collection", "account")


@admin.register(models.Vehicle)
class VehicleAdmin(KeptForGood):
    list_display = ("registration", "make", "model", "collection", "keeper")
    search_fields = ("registration", "chassis_number", "make", "model")
    autocomplete_fields = ("collection", "keeper")
    belongs_to = ("collection",)

    def touched(self, obj: models.Vehicle) -> Iterable[models.Vehicle]:
        return [obj]


@admin.register(models.Component)
class ComponentAdmin(KeptForGood):
    list_display = ("kind", "position", "vehicle")
    search_fields = ("kind", "position", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle", "assembly")


@admin.register(models.IntervalRule)
class IntervalRuleAdmin(Described):
    list_display = ("name", "kind", "task", "collection", "vehicle", "make", "model")
    list_filter = ("task", "criticality")
    search_fields = ("name", "kind")
    autocomplete_fields = ("collection", "vehicle")

    def touched(self, obj: models.IntervalRule) -> Iterable[models.Vehicle]:
        cars = models.Vehicle.objects.filter(collection=obj.collection_id)
        return cars.filter(pk=obj.vehicle_id) if obj.vehicle_id else cars


@admin.register(models.Paper)
class PaperAdmin(Described):
    list_display = ("kind", "vehicle", "until")
    list_filter = ("kind",)
    search_fields = ("number", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle")


@admin.register(models.SpecificationLine)
class SpecificationLineAdmin(Described):
    list_display = ("item", "value", "unit", "vehicle", "handbook_page")
    search_fields = ("item", "vehicle__registration")
    autocomplete_fields = ("collection", "vehicle")


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
