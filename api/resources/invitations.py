"""Invitations: people asked by e-mail to become members."""

from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import NotAuthenticated, PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OfCollection, filters
from api.resources.base import Listed
from api.resources.members import Members, MemberSerializer
from api.serializers import (
    CollectionInSight,
    StrictModelSerializer,
    StrictSerializer,
    VehicleInSight,
)
from api.shapes import shape_of
from maintenance.models import Account, Invitation, Member
from maintenance.queries.second_lock import everything_in_sight
from maintenance.queries.today import this_instant
from maintenance.services import invitations
from maintenance.services.accounts import NewAccount


class InvitationSerializer(StrictModelSerializer):
    """Who is asked to be a member, and how far that is; its secret is in the letter alone."""

    collection = CollectionInSight(help_text="Identifier of the collection.")
    vehicles = VehicleInSight(
        many=True, required=False, help_text="Cars that the member will keep, of those without one."
    )
    days = serializers.IntegerField(
        write_only=True,
        required=False,
        min_value=1,
        max_value=invitations.LONGEST_DAYS,
        help_text="How long it can be accepted [days].",
    )

    class Meta:
        model = Invitation
        fields = (
            *("id", "collection", "email", "name", "role", "vehicles", "days"),
            *("state", "invited_by", "invited_at", "expires_at"),
        )
        read_only_fields = ("id", "state", "invited_by", "invited_at", "expires_at")


class Acceptance(StrictSerializer):
    """The secret of the letter; for somebody not signed in also how they wish to sign in."""

    secret = serializers.CharField(max_length=200, help_text="The last part of the address mailed.")
    name = serializers.CharField(
        required=False, max_length=120, help_text="How the member wishes to be called."
    )
    username = serializers.CharField(
        required=False, max_length=150, help_text="Name of the account to be made."
    )
    password = serializers.CharField(
        required=False, max_length=1000, help_text="Its password; at least eight characters."
    )


class InvitationFilters(OfCollection):
    state = filters.ChoiceFilter(choices=Invitation.State.choices, label="State.")


class Invitations(Listed):
    """Invitations of the collections whose secretary you are.

    The answer is the same whether or not the address belongs to an account.
    """

    noun, nouns = "invitation", "invitations"
    serializer_class = InvitationSerializer
    filterset_class = InvitationFilters
    verbs = Listed.verbs | {"withdrawal": "withdraw", "acceptance": "accept"}
    said = {
        "create": ("Invite somebody by e-mail", "invite"),
        "withdrawal": ("Withdraw an invitation", "withdraw_invitation"),
        "acceptance": ("Accept an invitation", "accept_invitation"),
    }
    problems = {"acceptance": ("malformed-request", "unsupported-media-type", "refused")}
    example: dict[str, Any] = {
        "id": "01931b5e-7f80-7a11-9d2e-0b1c2d3e4f90",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "email": "ines.valbom@orrin.example",
        "name": "Ines Valbom",
        "role": "keeper",
        "vehicles": ["01931b5e-7b00-7b22-8a3b-1c2d3e4f5061"],
        "state": "open",
        "invited_by": "01931b5e-7900-7f00-a111-223344556677",
        "invited_at": "2026-11-25T09:30:00Z",
        "expires_at": "2026-12-09T09:30:00Z",
    }

    def get_queryset(self) -> QuerySet[Invitation]:
        return self.in_sight(Invitation.objects.all())

    def create(self, request: Request) -> Response:
        given = self.given()
        if not self.may(given["collection"]):
            raise PermissionDenied("Only a secretary of the collection decides who is a member.")
        made = invitations.invite(by=self.account, at=this_instant(), **given)
        return self.created(made.pk)

    @action(detail=True, methods=["post"])
    def withdrawal(self, request: Request, pk: Any) -> Response:
        invitations.withdraw_invitation(invitation=self.instance(pk))
        return self.created(pk)

    @action(detail=False, methods=["post"])
    def acceptance(self, request: Request) -> Response:
        given = self.given(Acceptance)
        member = invitations.accept_invitation(
            secret=given["secret"],
            account=self._accepting(given),
            name=given.get("name", ""),
            at=this_instant(),
        )
        shape = shape_of(MemberSerializer)
        # Whoever accepts may be nobody here yet, in whose sight it could be.
        with everything_in_sight():
            row = shape.read(Member.objects.filter(pk=member.pk)).get()
        path = reverse("members-detail", kwargs={"pk": member.pk})
        return Response(
            shape.shaped(row),
            status=status.HTTP_201_CREATED,
            headers={"Location": request.build_absolute_uri(path)},
        )

    def _accepting(self, given: dict[str, Any]) -> Account | NewAccount:
        wanted = {name: given[name] for name in ("username", "password") if name in given}
        if isinstance(self.request.user, Account):
            return self.request.user
        if len(wanted) == 2:
            return NewAccount(**wanted)
        raise NotAuthenticated("Sign in, or give username and password to make an account.")

    def takes(self, action: str) -> Any:
        if action == "acceptance":
            return Acceptance
        return super().takes(action)

    def answers(self, action: str) -> Any:
        return MemberSerializer if action == "acceptance" else super().answers(action)

    def example_answer(self, action: str) -> Any:
        return Members.example if action == "acceptance" else super().example_answer(action)

    def example_request(self, action: str) -> Any:
        if action == "acceptance":
            secret = "idleinv_an-example-that-opens-nothing"
            return {"secret": secret, "username": "ines.valbom", "password": "a long one of yours"}
        given = super().example_request(action)
        return given and given | {"days": 14}
