"""Collections: the tenants."""

import datetime
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import StrictFilterSet, filters
from api.resources.described import Changed
from api.serializers import StrictModelSerializer
from api.shapes import Row
from maintenance.models import Collection
from maintenance.services import collections


class CollectionSerializer(StrictModelSerializer):
    """A club's members' cars, or one owner's; its days are those of its time zone."""

    class Meta:
        model = Collection
        fields = ("id", "version", "name", "time_zone", "distance_unit")
        read_only_fields = ("id", "version")


class CollectionFilters(StrictFilterSet):
    name = filters.CharFilter(label="Name of the collection, in full.")


class Collections(Changed):
    """The collections you are a member of. Who founds one is its first secretary."""

    noun, nouns = "collection", "collections"
    said = {"create": ("Found {a} {noun}", "found_{noun}")}
    serializer_class = change_class = CollectionSerializer
    filterset_class = CollectionFilters
    example = {
        "id": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "version": 1,
        "name": "Vale of Orrin Motor Club",
        "time_zone": "Europe/Lisbon",
        "distance_unit": "mi",
    }
    example_change = {"name": "Vale of Orrin Classic Motor Club"}

    def get_queryset(self) -> QuerySet[Collection]:
        return self.in_sight(Collection.objects.all())

    def create(self, request: Request) -> Response:
        if settings.FOUNDED_BY_STAFF_ALONE and not self.account.is_staff:
            raise PermissionDenied("Collections are founded by the operator here; ask there.")
        founded = collections.found_collection(by=self.account, **self.given())
        # The founder's own membership has been added to what is in sight.
        vars(self).pop("sight", None)
        return self.created(founded.pk)

    def owner_of(self, row: Collection) -> Collection:
        return row

    def change(self, *, row: Collection, given: Row, today: datetime.date) -> Any:
        return collections.change_collection(
            collection=row, version=row.version, changes=given, today=today
        )
