"""Descriptions over HTTP: changed in place, by those who say which version they change."""

import datetime
from typing import Any

from rest_framework import serializers, status
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.etags import require_match
from api.problems import Refusal, lines_of
from api.rendering import as_json
from api.resources.base import Listed
from api.shapes import Row
from maintenance.models import Collection, Vehicle
from maintenance.queries.today import today_in
from maintenance.services.refusals import Refused


class Changing:
    """Turns the serializer of a noun into that of its change: what it belongs to stays."""

    stays: tuple[str, ...]

    def get_fields(self) -> dict[str, Any]:
        fields: dict[str, Any] = super().get_fields()  # type: ignore[misc]
        return {name: field for name, field in fields.items() if name not in self.stays}


class Changed(Listed):
    """A noun that is changed in place."""

    change_class: type[serializers.BaseSerializer[Any]]
    #: What the row belongs to, by which the right to write it is decided.
    owner = "vehicle"
    #: What the example of a change sends.
    example_change: Row

    def owner_of(self, row: Any) -> Any:
        return getattr(row, self.owner)

    def change(self, *, row: Any, given: Row, today: datetime.date) -> Any:
        """Ask the service that changes a row, given only what is to differ."""
        raise NotImplementedError

    def partial_update(self, request: Request, pk: Any) -> Response:
        row = self.matched(pk)
        given = self.given(self.takes("partial_update"), partial=True)
        if not given:
            raise Refusal("refused", "The request names nothing to change.", [])
        self.change(row=row, given=given, today=self.today_for(self.owner_of(row)))
        return Response(self.item(pk))

    def matched(self, pk: Any) -> Any:
        """Return a row to change, if the account may and the client names its present version.

        The row is read before its bytes are compared: a writer in between then meets an outdated
        `version` in the service, which looks at it again under a lock.
        """
        row = self.instance(pk)
        item = self.item(pk)
        self.require_right(self.owner_of(row))
        require_match(self.request, as_json(item))
        return row

    def require_right(self, owner: Any) -> None:
        if not self.may(owner):
            raise PermissionDenied(f"Your role in the collection does not write {self.nouns}.")

    def today_for(self, owner: Vehicle | Collection) -> datetime.date:
        return today_in(owner if isinstance(owner, Collection) else owner.collection)

    def takes(self, action: str) -> Any:
        return self.change_class if action == "partial_update" else super().takes(action)

    def example_request(self, action: str) -> Any:
        if action == "partial_update":
            return self.example_change
        return super().example_request(action)


class Kept(Changed):
    """A noun that is added, changed, and taken away again as long as nothing hangs on it."""

    said = {"create": ("Add {a} {noun}", "add_{noun}")}

    def add(self, *, given: Row, today: datetime.date) -> Any:
        """Ask the service that adds; returns the row."""
        raise NotImplementedError

    def remove(self, *, row: Any, today: datetime.date) -> None:
        """Ask the service that removes."""
        raise NotImplementedError

    def create(self, request: Request) -> Response:
        given = self.given()
        self.require_right(given[self.owner])
        today = self.today_for(given[self.owner])
        return self.created(self.add(given=given, today=today).pk)

    def destroy(self, request: Request, pk: Any) -> Response:
        row = self.matched(pk)
        try:
            self.remove(row=row, today=self.today_for(self.owner_of(row)))
        except Refused as refused:
            lines = lines_of(refused)
            raise Refusal("still-in-use", lines[0]["detail"], lines) from refused
        return Response(status=status.HTTP_204_NO_CONTENT)
