"""The feed of changes, by which another program keeps a mirror of what its account may see."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiParameter, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.paging import DEFAULT_LIMIT, MAX_LIMIT, limit_asked
from api.places import PATTERN, opened, sealed
from api.problem_types import PROBLEM_TYPES
from api.problems import Refusal
from api.resources.base import Resource
from maintenance.models import Change
from maintenance.models.changed_nouns import NOUNS
from maintenance.queries.changes import (
    BEGINNING,
    Ahead,
    Elsewhere,
    NoSuchPlace,
    Place,
    changes_after,
    database,
    present_place,
)
from maintenance.queries.today import this_instant

_REMOVED = "Lines after this place have been removed."
#: Why the feed does not go on from a place.
_WHY: Mapping[type[NoSuchPlace], str] = {
    Ahead: "This place lies ahead of the database, which was restored from an earlier state.",
    Elsewhere: "This place is of another database, or was given under a secret no longer kept.",
}
_EXAMPLE = {
    "cursor": "gAAAAABqDbH0Xv3m1dUQv0Yx7oPz5rJk2TqL8aWcNfE9sHbGyRtKiVuXo4MnAeD6C1pZjBhS"
    "wQlFg3UyO0vIxTk7LrPdEaNbKc5YmGsHfWoJqXtZiVuDn4R=",
    "noun": "service-events",
    "id": "01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
    "change": "created",
    "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
    "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
    "at": "2026-11-25T09:30:00Z",
    "url": "https://cars.example/api/v1/service-events/01931b5e-7f00-7c31-8f2a-5a6c0f1e2d3c",
}


class ChangeSerializer(serializers.Serializer[Any]):
    """One change: read the row at `url`, or forget it."""

    cursor = serializers.CharField(help_text="The place behind this line.")
    noun = serializers.CharField(
        help_text="As in the address of its list. The feed covers "
        + ", ".join(noun.name for noun in NOUNS)
        + "."
    )
    id = serializers.UUIDField(help_text="Identifier of the row.")
    change = serializers.ChoiceField(
        choices=Change.What.choices,
        help_text="With a vehicle or collection that is removed, forget all that belongs to it; "
        "with one that is created, list all that belongs to it.",
    )
    collection = serializers.UUIDField()
    vehicle = serializers.UUIDField(allow_null=True, help_text="The car the row belongs to.")
    at = serializers.DateTimeField()
    url = serializers.CharField(allow_null=True, help_text="Of the row; null where it is removed.")


@extend_schema_serializer(many=False)
class ChangesSerializer(serializers.Serializer[Any]):
    """Changes in the order in which they came about."""

    items = ChangeSerializer(many=True)
    after = serializers.CharField(help_text="Send this as `after` the next time.")
    next = serializers.CharField(
        allow_null=True, help_text="Address of what is there already; null if that was all."
    )


class Changes(Resource):
    """What was made, changed and removed of all you may see, so that you can keep a mirror of it.

    Ask without `after` for the present place, then list each noun that `noun` names, then go on
    from that place.
    """

    noun, nouns = "change", "changes"
    http_method_names = ["get", "head"]
    pagination_class = None
    serializer_class = ChangesSerializer
    said = {"list": ("Read what has changed", "list_changes")}
    problems = {"list": ("changes-forgotten",)}
    parameters: Mapping[str, Mapping[str, OpenApiParameter]] = {
        "list": {
            "after": OpenApiParameter(
                "after",
                {"type": "string", "pattern": f"^{PATTERN}$"},
                description="The place reached before; without it nothing is listed but the "
                "present one.",
            ),
            "limit": OpenApiParameter(
                "limit",
                {"type": "integer", "minimum": 1, "maximum": MAX_LIMIT, "default": DEFAULT_LIMIT},
                description=f"How many items a page holds, 1 to {MAX_LIMIT}.",
            ),
        }
    }
    example = {"items": [_EXAMPLE], "after": _EXAMPLE["cursor"], "next": None}

    def get_queryset(self) -> QuerySet[Change]:
        return Change.objects.filter(collection__in=self.sight.collections)

    def list(self, request: Request) -> Response:
        asked, limit, here = request.query_params.get("after"), limit_asked(request), database()
        if asked is None:
            return Response(self._said([], sealed(here, present_place()), more=False))
        try:
            place = _place(asked, here)
            page = changes_after(
                place,
                sight=self.sight,
                account=self.account,
                limit=limit,
                at=this_instant(),
            )
        except NoSuchPlace as none:
            kind = PROBLEM_TYPES["changes-forgotten"]
            raise Refusal(kind.slug, f"{_WHY.get(type(none), _REMOVED)} {kind.remedy}") from none
        items = [self._line(line, here) for line in page.lines]
        # Where nothing came, the very words come back: that a place moved would tell of others.
        after = asked if page.place == place else sealed(here, page.place)
        return Response(self._said(items, after, more=page.more))

    def _line(self, line: Change, here: int) -> dict[str, Any]:
        gone = line.change == Change.What.REMOVED
        path = self.request.path.replace("/changes", f"/{line.noun}/{line.record}")
        return {
            "cursor": sealed(here, Place(line.xid, line.pk)),
            "noun": line.noun,
            "id": line.record,
            "change": line.change,
            "collection": line.collection,
            "vehicle": line.vehicle,
            "at": line.at,
            "url": None if gone else self.request.build_absolute_uri(path),
        }

    def _said(self, items: Any, after: str, *, more: bool) -> dict[str, Any]:
        query = self.request.query_params.copy()
        query["after"] = after
        address = self.request.build_absolute_uri(f"{self.request.path}?{query.urlencode()}")
        return {"items": items, "after": after, "next": address if more else None}


def _place(text: str, here: int) -> Place:
    try:
        cluster, place = opened(text)
    except ValueError:
        raise Refusal("invalid-cursor", f"{text[:60]!r} is no place in this feed.") from None
    if cluster != here and place != BEGINNING:
        raise Elsewhere
    return place
