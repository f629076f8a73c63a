"""Kinds of page: shown only, or put right with the cars it touches computed anew."""

import datetime
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.db import transaction
from django.db.models import F, Model, QuerySet
from django.http import HttpRequest

from maintenance import models
from maintenance.admin.forms import CheckedForm
from maintenance.queries.today import today_in
from maintenance.services.cars import locked_with_linked
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem

if TYPE_CHECKING:  # generic in the stubs alone
    AnyModelAdmin = admin.ModelAdmin[Any]
    AnyTabularInline = admin.TabularInline[Any, Any]
    AnyUserAdmin = UserAdmin[models.Account]
else:
    AnyModelAdmin, AnyTabularInline, AnyUserAdmin = admin.ModelAdmin, admin.TabularInline, UserAdmin


class ShownOnly(AnyModelAdmin):
    """A table to look at and search, never to change."""

    list_per_page = 50
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest, *args: Any) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class PartsShownOnly(AnyTabularInline):
    """Rows that belong to a record, shown with it."""

    extra = 0
    can_delete = False
    fk_name: str | None = None

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Checked(AnyModelAdmin):
    """A description that may be put right, refused as the services refuse it."""

    form = CheckedForm
    list_per_page = 50
    show_full_result_count = False
    readonly_fields = ("version",)
    #: To whom the row belongs: said when it is added. A form that was open while a car went to
    #: another collection would else bring it back.
    belongs_to: tuple[str, ...] = ("collection",)

    def problems(self, row: Any, before: Any) -> Iterable[Problem]:
        """Tell what is wrong with a row about to be saved, and with it in place of `before`."""
        raise NotImplementedError

    def lock(self, row: Any) -> None:
        """Lock what the services lock before they check such a row; in Django's transaction."""

    def get_form(
        self, request: HttpRequest, obj: Any = None, change: bool = False, **kwargs: Any
    ) -> Any:
        form: Any = super().get_form(request, obj, change, **kwargs)
        form.page = self
        return form

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return (*self.readonly_fields, *(self.belongs_to if obj else ()))

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        if change:
            obj.version = F("version") + 1
            # The rest of the row, read before the lock, is not the form's to write.
            obj.save(update_fields=[*form.changed_data, "version"])
        else:
            super().save_model(request, obj, form, change)
        obj.refresh_from_db()


class Described(Checked):
    """A description of cars; those it touches are computed anew."""

    belongs_to: tuple[str, ...] = ("collection", "vehicle")

    def touched(self, obj: Any) -> Iterable[models.Vehicle]:
        """Return the cars whose due items hang on the row."""
        return [obj.vehicle]

    def lock(self, row: Any) -> None:
        locked_with_linked(self.touched(row))

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        with transaction.atomic():
            self.lock(obj)
            super().save_model(request, obj, form, change)
            self._recompute(obj)

    def delete_model(self, request: HttpRequest, obj: Any) -> None:
        with transaction.atomic():
            touched = locked_with_linked(self.touched(obj))
            super().delete_model(request, obj)
            recompute_vehicles(vehicles=touched, on=today_of(obj))

    def delete_queryset(self, request: HttpRequest, queryset: QuerySet[Any]) -> None:
        for obj in queryset:
            self.delete_model(request, obj)

    def get_deleted_objects(self, objs: Any, request: HttpRequest) -> Any:
        names, counts, forbidden, protected = super().get_deleted_objects(objs, request)
        # Nobody may delete a due item, but one goes with the paper it is about.
        return names, counts, forbidden - {models.DueItem._meta.verbose_name}, protected

    def _recompute(self, obj: Any) -> None:
        recompute_vehicles(vehicles=self.touched(obj), on=today_of(obj))


class KeptForGood(Described):
    """A description on which records hang: put right, never deleted here."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


def today_of(obj: Any) -> datetime.date:
    """Return the local day of the collection that a row is, or belongs to."""
    return today_in(obj if isinstance(obj, models.Collection) else obj.collection)


def parts_of(of: type[Model]) -> type[PartsShownOnly]:
    return type(f"{of.__name__}Inline", (PartsShownOnly,), {"model": of})
