"""What a browser is told to refuse, on every answer of the service.

The policies are as narrow as each kind of answer allows. No page has scripts or styles within
itself, so none needs an exception for them.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

from csp.constants import NONE, SELF
from csp.middleware import CSPMiddleware, PolicyParts
from django.http import HttpRequest
from django.http.response import HttpResponseBase

Policy = Mapping[str, list[str]]

#: For answers that are no page: opened by themselves, they may do nothing.
NOTHING: Final[Policy] = {
    "default-src": [NONE],
    "base-uri": [NONE],
    "form-action": [NONE],
    "frame-ancestors": [NONE],
}
#: The pages of `maintenance.pages`, which have no script at all.
PAGES: Final[Policy] = {
    **NOTHING,
    "style-src": [SELF],
    "img-src": [SELF],
    "form-action": [SELF],
}
#: The operator's pages and the documents of the API: scripts of packages, served from here.
WITH_SCRIPTS: Final[Policy] = {
    **PAGES,
    "script-src": [SELF],
    "connect-src": [SELF],
    "img-src": [SELF, "data:"],
}
_WITH_SCRIPTS_BELOW = ("/admin/", "/api/v1/docs/")

#: Nothing here asks for any of it; a script that got in could.
PERMISSIONS: Final = ", ".join(
    f"{feature}=()"
    for feature in (
        *("accelerometer", "autoplay", "camera", "display-capture", "fullscreen", "geolocation"),
        *("gyroscope", "magnetometer", "microphone", "midi", "payment", "usb"),
    )
)


class ContentSecurityPolicy(CSPMiddleware):
    """Chooses the policy by what is answered; a view's own header stands (attached files)."""

    def get_policy_parts(
        self, request: HttpRequest, response: HttpResponseBase, report_only: bool = False
    ) -> PolicyParts:
        parts = super().get_policy_parts(request, response, report_only)
        if parts.config is None and not report_only:
            parts.config = dict(_policy(request, response))
        return parts


def _policy(request: HttpRequest, response: HttpResponseBase) -> Policy:
    if not response.headers.get("Content-Type", "").startswith("text/html"):
        return NOTHING
    return WITH_SCRIPTS if request.path.startswith(_WITH_SCRIPTS_BELOW) else PAGES


def other_headers(
    get_response: Callable[[HttpRequest], Any],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Add what neither Django nor django-csp sets."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response: HttpResponseBase = get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response

    return middleware
