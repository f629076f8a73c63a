"""What the views of all nouns share: sight, strict queries, entity tags, reading by shape."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, TypeVar, cast

from django.db.models import Model, QuerySet
from django.http import Http404
from django.utils.cache import patch_vary_headers
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers, status, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from api.deprecation import Deprecated, told_of
from api.etags import tagged
from api.examples import sent
from api.filters import known_parameters, refuse_unknown
from api.once import Once
from api.permissions import SignedIn, WithinRole, WithinScope
from api.shapes import Row, shape_of
from maintenance.models import Account, Collection, Member, Vehicle
from maintenance.queries.access import Sight, sight_of
from maintenance.queries.roles import right_to
from maintenance.queries.second_lock import see
from maintenance.services.collisions import twice_if_need_be

Found = TypeVar("Found", bound=Model)


class Resource(Once, viewsets.GenericViewSet[Any]):
    """One noun: what of it is in sight, and its rows in the shape of its serializer."""

    permission_classes = [SignedIn, WithinScope, WithinRole]
    http_method_names = ["get", "head", "post", "patch", "delete"]

    lookup_value_converter = "uuid"

    #: By call, its verb in the table of roles (`maintenance.queries.roles`), where the noun is the
    #: one of the address.
    verbs: dict[str, str] = {
        "list": "see",
        "retrieve": "see",
        "create": "add",
        "partial_update": "change",
        "destroy": "remove",
    }

    #: How the noun is called, for the OpenAPI document.
    noun: str
    nouns: str
    #: Summary and identifier of the calls that only this noun has.
    said: Mapping[str, tuple[str, str]] = {}
    #: Query parameters, and what they mean, beside the filters and pages of the list.
    #: A mapping of words where it takes any text; else how the document describes it.
    parameters: Mapping[str, Mapping[str, str | OpenApiParameter]] = {}
    #: Kinds of problem that a call can meet here, beside those that it can meet everywhere.
    problems: Mapping[str, Sequence[str]] = {}
    #: Calls that are to be taken away.
    deprecated: Mapping[str, Deprecated] = {}
    #: An item as it is answered.
    example: Row

    #: Ascending, each ending in a unique column: by age, or within one car as people read it.
    ordering: Sequence[str] = ("id",)
    ordering_on_a_car: Sequence[str] = ()

    @cached_property
    def sight(self) -> Sight:
        if getattr(self, "swagger_fake_view", False):
            return Sight(())  # the OpenAPI document is drawn with nobody signed in
        sight = sight_of(self.account)
        see(sight.collections)
        return sight

    @property
    def account(self) -> Account:
        """The account asking; the permission has let no anonymous one in."""
        return cast(Account, self.request.user)

    @property
    def verb(self) -> str:
        """What is being done, as the table of roles calls it."""
        return self.verbs.get(str(self.action), str(self.action))

    def may(self, owner: Collection | Vehicle | Member) -> bool:
        """Say whether the account may do it on what belongs to the owner, which it can see."""
        return self.sight.may(self.verb, str(self.basename), owner)

    def in_sight(self, rows: QuerySet[Found]) -> QuerySet[Found]:
        """Return those rows of this noun that the account may see."""
        return self.sight.rows(str(self.basename), rows)

    def get_queryset(self) -> QuerySet[Any]:
        """Return the rows in sight; each noun says of which."""
        raise NotImplementedError

    def get_ordering(self) -> Sequence[str]:
        on_a_car = "vehicle" in self.request.query_params and self.ordering_on_a_car
        return on_a_car or self.ordering

    def complete(self, items: list[Row]) -> list[Row]:
        """Add the lists within the items, read for all of them at once."""
        return items

    def shaped(self, rows: list[Row]) -> list[Row]:
        shape = shape_of(self.serializer_class)  # type: ignore[arg-type]
        return self.complete([item for row in rows if (item := shape.shaped(row)) is not None])

    def item(self, pk: Any) -> Row:
        """Return one row in sight as it is answered, or refuse it as not there."""
        shape = shape_of(self.serializer_class)  # type: ignore[arg-type]
        found = self.shaped(list(shape.read(self.get_queryset().filter(pk=pk))))
        if not found:
            raise Http404
        return found[0]

    def instance(self, pk: Any) -> Any:
        """Return one row in sight as a model instance, for a service to act on."""
        found: Model | None = self.get_queryset().filter(pk=pk).first()
        if found is None:
            raise Http404
        return found

    def created(self, pk: Any) -> Response:
        """Answer a row just made, with its address."""
        address = self.reverse_action("detail", args=[pk])
        path = self.request.build_absolute_uri(address)
        return Response(self.item(pk), status=status.HTTP_201_CREATED, headers={"Location": path})

    def given(self, serializer_class: Any = None, *, partial: bool = False) -> dict[str, Any]:
        """Return what the body says, checked against a serializer, as a service takes it."""
        if serializer_class is None:
            serializer_class = self.get_serializer_class()
        serializer: serializers.Serializer[Any] = serializer_class(
            data=self.request.data, partial=partial, context=self.get_serializer_context()
        )
        serializer.is_valid(raise_exception=True)
        return dict(serializer.validated_data)

    def takes(self, action: str) -> Any:
        """Return the serializer of the body a call takes, for the OpenAPI document."""
        return self.serializer_class if action == "create" else None

    def answers(self, action: str) -> Any:
        """Return the serializer of what a call answers, for the OpenAPI document."""
        return self.serializer_class

    def example_answer(self, action: str) -> Any:
        return None if action == "destroy" else self.example

    def example_request(self, action: str) -> Any:
        """Return the example as a client would send it: without what the server sets."""
        serializer_class = self.takes(action)
        return serializer_class and sent(serializer_class(), self.example)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        for method in ("get", "post", "patch", "delete"):
            if hasattr(self, method):
                setattr(self, method, twice_if_need_be(getattr(self, method)))
        taken = self.action in (self.action_map or {}).values()
        if taken and not right_to(self.verb, str(self.basename)).of_anyone:
            # Now, since what is said within a transaction is forgotten when it is undone.
            _ = self.sight
        if self.action:
            listed = known_parameters(self) if self.action == "list" else set()
            refuse_unknown(request, listed | self.parameters.get(self.action, {}).keys())

    def check_permissions(self, request: Request) -> None:
        # Counted before the right is asked, or a refusal would cost nothing.
        self.check_throttles(request)
        super().check_permissions(request)

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        response = super().finalize_response(request, response, *args, **kwargs)
        # What one account sees is no answer for another: nothing between may keep it unasked.
        response.headers["Cache-Control"] = "private, no-cache"
        patch_vary_headers(response, ["Authorization", "Cookie"])
        links = response.headers.get("Link")
        for name, value in told_of(self.deprecated, self.action, links).items():
            response.headers[name] = value
        if response.status_code in (status.HTTP_200_OK, status.HTTP_201_CREATED):
            response.add_post_render_callback(lambda rendered: tagged(request._request, rendered))
        return response


class Listed(Resource):
    """A noun that can be listed and read one by one."""

    def list(self, request: Request) -> Response:
        shape = shape_of(self.serializer_class)  # type: ignore[arg-type]
        rows = shape.read(self.filter_queryset(self.get_queryset()))
        page = self.paginate_queryset(rows)
        return self.get_paginated_response(self.shaped(page or []))

    def retrieve(self, request: Request, pk: Any) -> Response:
        return Response(self.item(pk))
