"""Nouns of one person alone, whose making or renewal shows a secret this once."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.problem_types import PROBLEM_TYPES
from api.problems import MEDIA_TYPE, body_of
from api.resources.base import Resource
from api.resources.described import Kept
from api.serializers import MemberInSight
from api.shapes import Row
from maintenance.models import Collection, Member, Vehicle

_SHOWN_ONCE = "What was made is at `Location`; its secret was shown then and is kept nowhere."


class OwnMember(MemberInSight):
    """One of the memberships of the account that asks."""

    def get_queryset(self) -> QuerySet[Any]:
        return Member.objects.filter(account=self.context["view"].account)


class ShownOnce(Resource):
    """A noun with calls that answer a secret which nobody can read again."""

    #: The calls that answer with a secret, and the serializer of such an answer.
    issuing: frozenset[str] = frozenset({"create"})
    issued_class: Any
    #: How to come by another secret where the answer with the first one never arrived.
    another: str
    #: What the example of such an answer shows beside the item.
    example_secret: Row

    def issued(self, pk: Any, **secret: str) -> Response:
        """Answer a row with the secret that was just issued for it."""
        answer = self.created(pk)
        answer.data = {**answer.data, **secret}
        return answer

    def kept_as(self, response: Response) -> Response:
        """Keep no secret: a second call learns where the row is that the first one made."""
        if self.action not in self.issuing or response.status_code != status.HTTP_201_CREATED:
            return response
        kind = PROBLEM_TYPES["secret-shown-once"]
        return Response(
            body_of(kind, f"{_SHOWN_ONCE} {self.another}"),
            status=kind.status,
            headers={"Location": response.headers["Location"]},
            content_type=MEDIA_TYPE,
        )

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        response = super().finalize_response(request, response, *args, **kwargs)
        if self.action in self.issuing and response.status_code == status.HTTP_201_CREATED:
            response.headers["Cache-Control"] = "no-store"
            # The tag would be of an answer that nobody can get again.
            response.add_post_render_callback(_untagged)
        return response

    def answers(self, action: str) -> Any:
        return self.issued_class if action in self.issuing else super().answers(action)

    def example_answer(self, action: str) -> Any:
        if action in self.issuing:
            return {**self.example, **self.example_secret}
        return super().example_answer(action)


class Issued(ShownOnce, Kept):
    """A noun that only its member sees and changes."""

    owner = "member"

    model: Any

    def get_queryset(self) -> QuerySet[Any]:
        return self.in_sight(self.model.objects.all())

    def today_for(self, owner: Member | Vehicle | Collection) -> Any:
        return super().today_for(owner.collection if isinstance(owner, Member) else owner)


def _untagged(response: Response) -> None:
    del response.headers["ETag"]
