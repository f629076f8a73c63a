"""What is asked before every call: the token's scope, and whether any role of the account reaches.

Both are read from the table in `maintenance.queries.roles`. Which rows a call then finds, and
whether it may write this one, is asked of the same table through `maintenance.queries.access`.
"""

from typing import Any

from rest_framework.permissions import BasePermission, IsAuthenticated
from rest_framework.request import Request

from maintenance.models import AccessToken
from maintenance.queries.roles import right_to

#: What each scope includes: who manages also records, who records also reads.
INCLUDED = {
    AccessToken.Scope.READ: {AccessToken.Scope.READ},
    AccessToken.Scope.RECORD: {AccessToken.Scope.READ, AccessToken.Scope.RECORD},
    AccessToken.Scope.MANAGE: set(AccessToken.Scope),
}


class SignedIn(IsAuthenticated):
    """An account asks, by token or session, but for what the table gives to everybody."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if _is_taken(view) and right_to(view.verb, view.basename).of_everybody:
            return True
        return super().has_permission(request, view)


class WithinScope(BasePermission):
    """A token does no more than its scope; a signed-in browser is held by the role alone."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not _is_taken(view):
            return True
        self.message = scope_refusal(request, view.verb, view.basename)
        return not self.message


class WithinRole(BasePermission):
    """Whoever may not make a thing anywhere is told so before the body is read.

    Calls on one row are left to the row: what is out of sight is not there, whatever the role.
    """

    def has_permission(self, request: Request, view: Any) -> bool:
        if not _is_taken(view) or view.detail or view.verb == "see":
            return True
        if right_to(view.verb, view.basename).of_anyone:
            return True  # also before a membership is looked for: there may be no account
        self.message = f"No role that you have lets you {view.verb} {view.nouns}."
        return bool(view.sight.may_somewhere(view.verb, view.basename))


def scope_refusal(request: Request, verb: str, noun: str) -> str:
    """Return why the token asking is refused; empty where it is not, or where there is none."""
    needed, token = right_to(verb, noun).scope, request.auth
    if not isinstance(token, AccessToken) or needed in INCLUDED[AccessToken.Scope(token.scope)]:
        return ""
    return f"This token has the scope {token.scope!r}; this needs {str(needed)!r}."


def _is_taken(view: Any) -> bool:
    """Say whether the noun takes the method; else it is a 405 for everybody, whatever the right."""
    return view.action in view.action_map.values()
