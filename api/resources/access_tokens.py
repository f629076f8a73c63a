"""Access tokens: the keys by which other programs act for your account."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.etags import require_match
from api.rendering import as_json
from api.resources.base import Listed
from api.resources.issued import ShownOnce
from api.serializers import StrictModelSerializer
from maintenance.models import AccessToken
from maintenance.queries.accounts import tokens_of
from maintenance.queries.today import this_instant
from maintenance.services.tokens import issue_token, revoke_token, usual_expiry


class AccessTokenSerializer(StrictModelSerializer):
    """A token without its text, of which only the beginning is kept."""

    expires_at = serializers.DateTimeField(
        required=False, help_text="After a time set by the operator unless something is said."
    )

    class Meta:
        model = AccessToken
        fields: tuple[str, ...] = (
            *("id", "name", "hint", "scope", "issued_at", "expires_at", "last_used_at"),
        )
        read_only_fields = ("id", "hint", "issued_at", "last_used_at")
        extra_kwargs = {
            "scope": {"help_text": "`manage` includes `record`, which includes `read`."},
            "last_used_at": {"help_text": "To the minute; null while it was never used."},
        }


class AccessTokenIssued(AccessTokenSerializer):
    """A token with its text, which is kept nowhere and shown this once."""

    token = serializers.CharField(
        read_only=True, help_text="Send it as `Authorization: Bearer`; whoever has it acts for you."
    )

    class Meta(AccessTokenSerializer.Meta):
        fields = (*AccessTokenSerializer.Meta.fields, "token")


class AccessTokens(ShownOnce, Listed):
    """Your own tokens that were not revoked. All of it needs the scope `manage`.

    A token issues none that does more or lasts longer than itself. Revoke with `If-Match: *`
    where the token is in use: its last use is part of what the tag stands for.
    """

    noun, nouns = "access token", "access tokens"
    serializer_class = AccessTokenSerializer
    issued_class = AccessTokenIssued
    another = "If it never arrived, revoke the token there (DELETE) and issue another one."
    said = {
        "create": ("Issue an access token", "issue_access_token"),
        "destroy": ("Revoke an access token", "revoke_access_token"),
    }
    example = {
        "id": "01931b5e-7e40-7a11-9d2e-0b1c2d3e4f74",
        "name": "tablet in the workshop",
        "hint": "idle_Qm7x",
        "scope": "record",
        "issued_at": "2026-11-25T09:30:00Z",
        "expires_at": "2027-02-23T09:30:00Z",
        "last_used_at": None,
    }
    example_secret = {"token": "idle_Qm7x-an-example-that-opens-nothing"}

    def get_queryset(self) -> QuerySet[Any]:
        if getattr(self, "swagger_fake_view", False):
            return AccessToken.objects.none()  # the OpenAPI document is drawn with nobody signed in
        return tokens_of(self.account)

    def create(self, request: Request) -> Response:
        given = self.given()
        asking = request.auth if isinstance(request.auth, AccessToken) else None
        at = this_instant()
        given.setdefault("expires_at", usual_expiry(at=at, asking=asking))
        token, text = issue_token(account=self.account, at=at, asking=asking, **given)
        return self.issued(token.pk, token=text)

    def destroy(self, request: Request, pk: Any) -> Response:
        token = self.instance(pk)
        require_match(request, as_json(self.item(pk)))
        revoke_token(token=token, at=this_instant())
        return Response(status=status.HTTP_204_NO_CONTENT)
