"""Members of collections, and their roles."""

import dataclasses
import datetime
import uuid
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.etags import require_match
from api.filters import OfCollection, filters
from api.problems import query_refusal
from api.rendering import as_json
from api.resources.described import Changed
from api.serializers import StrictModelSerializer, StrictSerializer
from api.shapes import Row
from maintenance.models import Member
from maintenance.queries.today import this_instant
from maintenance.services import members
from maintenance.services.erasure import erase_member


class MemberSerializer(StrictModelSerializer):
    """An account's place in a collection."""

    class Meta:
        model = Member
        fields = ("id", "collection", "account", "name", "role", "version")
        read_only_fields = ("id", "collection", "account", "version")


NOT_A_SECRETARY = "Only a secretary of the collection decides who is a member."


class Erasing(StrictSerializer):
    """The word that it is meant: nothing brings back what is erased."""

    confirm = serializers.CharField(max_length=200, help_text="The member's name, as it is.")


class ErasedSerializer(StrictSerializer):
    """What was erased, and what could not be."""

    texts = serializers.IntegerField(read_only=True, help_text="Texts that named the member.")
    left = serializers.IntegerField(
        read_only=True, help_text="Texts that still do, recorded before texts could be erased."
    )
    account = serializers.BooleanField(
        read_only=True, help_text="Whether the account and its tokens were erased as well."
    )


class MemberFilters(OfCollection):
    role = filters.ChoiceFilter(choices=Member.Role.choices, label="Role.")


class Members(Changed):
    """Members: officers see all of their collection, everybody else only themselves.

    The secretary changes their names and roles. Who leaves is removed, by the secretary or by
    themselves; what they recorded stays.
    """

    noun, nouns = "member", "members"
    owner = "collection"
    serializer_class = change_class = MemberSerializer
    filterset_class = MemberFilters
    verbs = Changed.verbs | {"erasure": "erase"}
    said = {"erasure": ("Erase a member's personal data for good", "erase_member")}
    problems = {
        "destroy": ("refused",),
        "erasure": ("malformed-request", "unsupported-media-type", "refused"),
    }
    parameters = {"destroy": {"cars_to": "Member who keeps their cars from now on; none unless."}}
    example: dict[str, Any] = {
        "id": "01931b5e-7a10-7a11-9d2e-0b1c2d3e4f51",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "account": "01931b5e-7900-7f00-a111-223344556677",
        "name": "Ines Valbom",
        "role": "keeper",
        "version": 1,
    }
    example_change = {"role": "technical_officer"}

    def get_queryset(self) -> QuerySet[Member]:
        return self.in_sight(Member.objects.all())

    def change(self, *, row: Member, given: Row, today: datetime.date) -> Any:
        return members.change_member(member=row, version=row.version, changes=given)

    def destroy(self, request: Request, pk: Any) -> Response:
        member = self.instance(pk)
        heir = request.query_params.get("cars_to")
        self.require_right(member)
        # Whoever leaves gives the cars to nobody who was not asked.
        if heir is not None and not self.sight.may("change", "members", member.collection):
            raise PermissionDenied(NOT_A_SECRETARY)
        require_match(request, as_json(self.item(pk)))
        today = self.today_for(member.collection)
        members.remove_member(member=member, today=today, cars_to=self._heir(heir))
        return Response(status=status.HTTP_204_NO_CONTENT)

    @action(detail=True, methods=["post"])
    def erasure(self, request: Request, pk: Any) -> Response:
        member = self.instance(pk)
        self.require_right(member)
        erased = erase_member(
            member=member,
            confirm=self.given(Erasing)["confirm"],
            by=self.account,
            at=this_instant(),
            today=self.today_for(member.collection),
        )
        return Response(dataclasses.asdict(erased), status=status.HTTP_201_CREATED)

    def takes(self, action: str) -> Any:
        return Erasing if action == "erasure" else super().takes(action)

    def answers(self, action: str) -> Any:
        return ErasedSerializer if action == "erasure" else super().answers(action)

    def example_request(self, action: str) -> Any:
        if action == "erasure":
            return {"confirm": self.example["name"]}
        return super().example_request(action)

    def example_answer(self, action: str) -> Any:
        if action == "erasure":
            return {"texts": 14, "left": 0, "account": True}
        return super().example_answer(action)

    def require_right(self, owner: Any) -> None:
        if not self.may(owner):
            raise PermissionDenied(NOT_A_SECRETARY)

    def _heir(self, said: str | None) -> Member | None:
        if said is None:
            return None
        try:
            found = self.get_queryset().filter(pk=uuid.UUID(said)).first()
        except ValueError:
            found = None
        if found is None:
            raise query_refusal({"cars_to": "is no member that you may see."})
        return found
