"""Bearer tokens (RFC 6750, section 2.1), so that other programs can ask without a session."""

from typing import Any

from django.http import HttpRequest
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from api.rate_limits import spend_failure
from maintenance.models import AccessToken, Account
from maintenance.queries.today import this_instant
from maintenance.services.tokens import is_whole, token_account


class TokenAuthentication(BaseAuthentication):
    """Reads `Authorization: Bearer idle_…`; other schemes are left to others."""

    def authenticate(self, request: Request) -> tuple[Account, AccessToken] | None:
        scheme, _, text = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer":
            return None
        token = token_account(text=text.strip(), at=this_instant())
        if token is None:
            spend_failure(request._request)
            if not is_whole(text.strip()):
                raise AuthenticationFailed(
                    "This is no token as they are issued: copy all of it, from `idle_` to the end."
                )
            # One text for unknown, expired and revoked: a guesser learns nothing from it.
            raise AuthenticationFailed("This token is unknown, expired or revoked.")
        return token.account, token

    def authenticate_header(self, request: HttpRequest) -> str:
        return 'Bearer realm="Idle Years"'


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the token shows in the OpenAPI document."""

    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {
            "type": "http",
            "scheme": "bearer",
            "description": "A token issued to an account, with the scope read, record or manage.",
        }
