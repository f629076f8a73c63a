"""Every refusal as problem details (RFC 9457), whether the API, Django or a service made it."""

import logging
from http import HTTPStatus
from typing import Any

from django.core.exceptions import (
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
)
from django.core.signals import got_request_exception
from django.http import Http404, HttpRequest, HttpResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from api.pointers import errors_by_pointer
from api.problem_types import PROBLEM_TYPES, ProblemType
from api.rendering import as_json
from maintenance.services.collisions import kept_waiting
from maintenance.services.refusals import Outdated, Refused

MEDIA_TYPE = "application/problem+json"

_log = logging.getLogger("django.request")

#: Which kind of problem an exception of the framework is; the first that fits.
_KINDS: tuple[tuple[type[Exception], str], ...] = (
    (Http404, "not-found"),
    (PermissionDenied, "not-permitted"),
    (RequestDataTooBig, "too-large"),
    (SuspiciousOperation, "malformed-request"),
    (exceptions.ParseError, "malformed-request"),
    (exceptions.AuthenticationFailed, "not-authenticated"),
    (exceptions.NotAuthenticated, "not-authenticated"),
    (exceptions.PermissionDenied, "not-permitted"),
    (exceptions.NotFound, "not-found"),
    (exceptions.MethodNotAllowed, "method-not-allowed"),
    (exceptions.NotAcceptable, "not-acceptable"),
    (exceptions.UnsupportedMediaType, "unsupported-media-type"),
    (exceptions.Throttled, "too-many-requests"),
)
#: After which time a call that was kept waiting too long is worth another try.
_PAUSE_SECONDS = 2
#: How much of what a client sent is told back to it [characters].
_SHOWN = 80
_OF_STATUS = {
    problem.status: problem
    for problem in reversed(PROBLEM_TYPES.values())
    if problem.slug != "request-failed"
}


class Refusal(Exception):
    """A refusal by the API itself, of one of the published kinds."""

    def __init__(self, slug: str, detail: str, errors: list[dict[str, str]] | None = None) -> None:
        super().__init__(detail)
        self.kind = PROBLEM_TYPES[slug]
        self.detail = detail
        self.errors = errors


def query_refusal(said: dict[str, str]) -> Refusal:
    """Return the refusal of query parameters, given what is wrong with each."""
    lines = [{"parameter": name, "detail": detail} for name, detail in said.items()]
    return Refusal("invalid-query", _summary(lines), lines)


def lines_of(refused: Refused) -> list[dict[str, str]]:
    """Return what a service refuses, one line for each place in the request."""
    return [{"pointer": each.pointer, "detail": each.message} for each in refused.problems]


def body_of(
    kind: ProblemType,
    detail: str,
    errors: list[dict[str, str]] | None = None,
    status: int | None = None,
) -> dict[str, Any]:
    """Return the members of a problem; `status` repeats the status of the answer itself."""
    members: dict[str, Any] = {
        "type": kind.address,
        "title": kind.title,
        "status": int(status or kind.status),
        "detail": detail,
    }
    if errors is not None:
        members["errors"] = errors
    return members


def problem_details(exc: Exception, context: dict[str, Any]) -> Response:
    """Answer any exception of a view; what nobody foresaw is logged and answered as 500."""
    set_rollback()
    members = _members(exc)
    if members is not None and isinstance(exc, exceptions.UnsupportedMediaType):
        members["detail"] = _forms_taken(context)
    if members is None:
        failed = PROBLEM_TYPES["internal-error"]
        members = body_of(failed, failed.remedy)
        request = context["request"]._request
        _log.error("%s %s failed", request.method, request.path, exc_info=exc)
        # Without the signal, error reporters and the test client would take the answer for a
        # refusal that somebody meant.
        got_request_exception.send(sender=problem_details, request=request)
    return Response(
        members, status=members["status"], headers=_headers(exc), content_type=MEDIA_TYPE
    )


def _members(exc: Exception) -> dict[str, Any] | None:
    if isinstance(exc, Refusal):
        return body_of(exc.kind, exc.detail, exc.errors)
    if isinstance(exc, Refused):
        lines = lines_of(exc)
        return body_of(PROBLEM_TYPES["refused"], _summary(lines), lines)
    if isinstance(exc, Outdated):
        kind = PROBLEM_TYPES["changed-meanwhile"]
        return body_of(kind, kind.remedy)
    if kept_waiting(exc):
        kind = PROBLEM_TYPES["busy"]
        return body_of(kind, kind.remedy)
    if isinstance(exc, exceptions.ValidationError):
        lines = list(errors_by_pointer(exc.detail))
        return body_of(PROBLEM_TYPES["refused"], _summary(lines), lines)
    for exception, slug in _KINDS:
        if isinstance(exc, exception):
            return body_of(PROBLEM_TYPES[slug], _detail(exc, PROBLEM_TYPES[slug]))
    if isinstance(exc, exceptions.APIException):
        status = HTTPStatus(exc.status_code)
        kind_of_status = _OF_STATUS.get(status, PROBLEM_TYPES["request-failed"])
        return body_of(kind_of_status, str(exc.detail), status=status)
    return None


def _forms_taken(context: dict[str, Any]) -> str:
    """Say which forms of body the address takes, and which one came."""
    taken = dict.fromkeys(parser.media_type for parser in context["view"].get_parsers())
    came = context["request"].content_type or "a body without Content-Type"
    return f"This address takes {' or '.join(taken)}, and not {came[:_SHOWN]}."


def _summary(lines: list[dict[str, str]]) -> str:
    place = lines[0].get("pointer") or lines[0].get("parameter")
    text = f"{place}: {lines[0]['detail']}" if place else lines[0]["detail"]
    return text if len(lines) == 1 else f"{text} (and {len(lines) - 1} more under `errors`)"


def _detail(exc: Exception, kind: ProblemType) -> str:
    # Django's own 404 names the model that was looked for, which is nobody's business.
    if isinstance(exc, exceptions.APIException) and not isinstance(exc, exceptions.NotFound):
        return str(exc.detail)
    return kind.remedy


def _headers(exc: Exception) -> dict[str, str]:
    headers = {}
    if getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = exc.auth_header  # type: ignore[attr-defined]
    if kept_waiting(exc):
        headers["Retry-After"] = str(_PAUSE_SECONDS)
    if getattr(exc, "wait", None):
        headers["Retry-After"] = str(int(exc.wait))  # type: ignore[attr-defined]
    return headers


def plain_problem(slug: str, detail: str | None = None) -> HttpResponse:
    """Answer a problem where no view of the API was reached."""
    kind = PROBLEM_TYPES[slug]
    return HttpResponse(
        as_json(body_of(kind, detail or kind.remedy)),
        status=kind.status,
        content_type=MEDIA_TYPE,
    )


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer what Django refuses before any view, such as a foreign host name."""
    return plain_problem("malformed-request", "The server does not take this request as it came.")


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a request that Django forbids before any view."""
    return plain_problem("not-permitted")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer an address that no route takes."""
    return plain_problem("not-found")


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure outside the API's views."""
    return plain_problem("internal-error")
