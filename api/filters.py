"""Narrowing of lists: only by what a resource names, and nothing passed over in silence."""

import datetime
import difflib
from collections.abc import Collection, Iterable
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django_filters import rest_framework as filters  # type: ignore[import-untyped]
from rest_framework.request import Request

from api.paging import PARAMETERS
from api.problems import query_refusal

__all__ = [
    "DayFilter",
    "OfCollection",
    "OfHistory",
    "OfVehicle",
    "StrictFilterBackend",
    "StrictFilterSet",
    "filters",
    "known_parameters",
    "refuse_unknown",
]


def refuse_unknown(request: Request, known: Collection[str]) -> None:
    """Refuse query parameters that are unknown, empty or given twice.

    Raises
    ------
    Refusal
        400, naming each parameter, and the nearest known one where it looks like a slip.
    """
    said = {}
    for name in request.query_params:
        values = request.query_params.getlist(name)
        if name not in known:
            said[name] = _unknown(name, known)
        elif len(values) > 1:
            said[name] = "is given more than once; send one request for each value."
        elif not values[0]:
            said[name] = "is empty; give it a value or leave it out."
        elif "\x00" in values[0]:
            said[name] = "holds a NUL character; no record does."
    if said:
        raise query_refusal(said)


def _unknown(name: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(name, known, n=1)
    if near:
        return f"is no parameter of this address; did you mean {near[0]!r}?"
    if not known:
        return "is no parameter of this address, which takes none."
    return f"is no parameter of this address, which takes {', '.join(sorted(known))}."


class StrictFilterBackend(filters.DjangoFilterBackend):  # type: ignore[misc]
    """The filters of a resource's filter set; a value that can't be read is refused by name."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> Any:
        filterset = self.get_filterset(request, queryset, view)
        if filterset is None:
            return queryset
        if not filterset.is_valid():
            raise query_refusal(
                {name: " ".join(errors) for name, errors in filterset.errors.items()}
            )
        return filterset.qs


def known_parameters(view: Any) -> set[str]:
    """Return the query parameters that a list takes."""
    filterset_class = getattr(view, "filterset_class", None)
    named = filterset_class.base_filters if filterset_class else ()
    return {*named, *(PARAMETERS if view.pagination_class else ())}


class StrictFilterSet(filters.FilterSet):  # type: ignore[misc]
    """The ground of all filter sets; django-filter comes without types."""


class _DayField(forms.Field):
    """An ISO date and nothing else: Django's own field also reads 31/12/2026 by locale."""

    def to_python(self, value: str | None) -> datetime.date | None:
        if not value:
            return None
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise ValidationError(f"{value!r} is no day; write for example 2026-11-25.") from None


class DayFilter(filters.DateFilter):  # type: ignore[misc]
    """Narrows by a local calendar day."""

    field_class = _DayField


class _FlagField(forms.Field):
    """`true` or `false`; Django's own field takes anything else for no answer at all."""

    def to_python(self, value: str | None) -> bool | None:
        if not value:
            return None
        if value not in ("true", "false"):
            raise ValidationError(f"{value!r} is neither true nor false.")
        return value == "true"


class FlagFilter(filters.BooleanFilter):  # type: ignore[misc]
    """Narrows by a plain yes or no."""

    field_class = _FlagField

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.TextInput, **kwargs)


class OfCollection(StrictFilterSet):
    """Every list can be narrowed to one collection."""

    collection = filters.UUIDFilter(field_name="collection_id", label="Identifier of a collection.")


class OfVehicle(OfCollection):
    """Lists of what belongs to cars can also be narrowed to one car."""

    vehicle = filters.UUIDFilter(field_name="vehicle_id", label="Identifier of a vehicle.")


class OfHistory(OfVehicle):
    """Lists of records: by day, and with or without those that a correction has replaced."""

    on_or_after = DayFilter(
        field_name="on", lookup_expr="gte", label="First day of the records wanted."
    )
    on_or_before = DayFilter(
        field_name="on", lookup_expr="lte", label="Last day of the records wanted."
    )
    superseded = FlagFilter(
        method="with_superseded",
        label="Also the records that a correction or withdrawal has replaced.",
    )

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        queryset = cast(QuerySet[Any], super().filter_queryset(queryset))
        if self.form.cleaned_data["superseded"]:
            return queryset
        return queryset.filter(current=True, withdrawn=False)

    def with_superseded(self, queryset: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        return queryset
