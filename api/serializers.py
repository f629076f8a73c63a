"""What the serializers of all nouns share: strictness, and references in sight only."""

from collections.abc import Mapping
from typing import Any, cast

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.fields import empty

from api.strictness import Strict
from maintenance.catalogue.words import unknown
from maintenance.models import (
    Collection,
    Component,
    DueItem,
    Member,
    PlanJob,
    Vehicle,
)
from maintenance.queries.access import Sight


class StrictSerializer(Strict, serializers.Serializer[Any]):
    """A plain serializer that takes no unknown key."""


class NearestChoiceField(serializers.ChoiceField):
    """A choice that answers a slip with the nearest known word."""

    def to_internal_value(self, data: Any) -> Any:
        for choice in self.choices:
            # DRF compares as text, by which "12" would be the number 12.
            if type(data) is type(choice) and data == choice:
                return data
        known = [str(choice) for choice in self.choices]
        raise ValidationError(unknown("word here", str(data)[:60], known))


class StrictModelSerializer(Strict, serializers.ModelSerializer[Any]):
    """A serializer drawn from a model, whose rules the services and the database keep."""

    serializer_choice_field = NearestChoiceField

    def get_fields(self) -> dict[str, Any]:
        """Return the fields under the names of `Meta.shown_as`, such as `from` for `from_on`."""
        shown_as: Mapping[str, str] = getattr(self.Meta, "shown_as", {})
        fields = {}
        for name, field in super().get_fields().items():
            if name in shown_as:
                field.source = name
            fields[shown_as.get(name, name)] = field
        return fields

    def get_unique_together_validators(self) -> list[Any]:
        # The service refuses a second one of the same name under a lock; asking here as well
        # costs a query and could be overtaken.
        return []

    def get_unique_for_date_validators(self) -> list[Any]:
        return []


class _InSight(serializers.PrimaryKeyRelatedField[Any]):
    """A reference to a row; one that is out of sight is refused as one that does not exist."""

    default_error_messages = {
        "does_not_exist": "There is nothing of this identifier that you may see."
    }

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("read_only"):
            kwargs["queryset"] = self.model.objects.all()
        super().__init__(pk_field=serializers.UUIDField(), **kwargs)

    model: Any

    def run_validation(self, data: Any = empty) -> Any:
        # DRF would take empty text for null, which no description of an identifier allows.
        if data == "":
            raise ValidationError("Must be a valid UUID.")
        return super().run_validation(data)

    @property
    def sight(self) -> Sight:
        return cast(Sight, self.context["view"].sight)

    def get_queryset(self) -> QuerySet[Any]:
        raise NotImplementedError


class VehicleInSight(_InSight):
    model = Vehicle

    def get_queryset(self) -> QuerySet[Any]:
        return self.sight.vehicles().select_related("collection")


class ComponentInSight(_InSight):
    model = Component

    def get_queryset(self) -> QuerySet[Any]:
        return self.sight.rows("components", Component.objects.all())


class DueItemInSight(_InSight):
    model = DueItem

    def get_queryset(self) -> QuerySet[Any]:
        rows = DueItem.objects.select_related("vehicle__collection")
        return self.sight.rows("due-items", rows)


class CollectionInSight(_InSight):
    model = Collection

    def get_queryset(self) -> QuerySet[Any]:
        return self.sight.rows("collections", Collection.objects.all())


class MemberInSight(_InSight):
    model = Member

    def get_queryset(self) -> QuerySet[Any]:
        return self.sight.rows("members", Member.objects.all())


class FellowMember(_InSight):
    """A member of one's own collection, whom one knows by the identifier and need not see."""

    model = Member

    def get_queryset(self) -> QuerySet[Any]:
        return Member.objects.filter(collection__in=self.sight.collections)


class PlanJobInSight(_InSight):
    model = PlanJob

    def get_queryset(self) -> QuerySet[Any]:
        return self.sight.rows("plan-jobs", PlanJob.objects.all())
