"""Strong entity tags (RFC 9110, section 8.8.3) taken from the bytes of an answer.

A tag made from the content can't lie about it; a tag made from a version number would, as soon as
an answer shows anything that lives on another row.
"""

import hashlib

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.utils.http import parse_etags, quote_etag
from rest_framework.response import Response

from api.problems import Refusal

_KEPT_ON_304 = ("Cache-Control", "ETag", "Link", "Vary")


def etag_of(content: bytes) -> str:
    """Return the strong tag of an answer's bytes, quoted."""
    return quote_etag(hashlib.sha256(content).hexdigest()[:32])


def tagged(request: HttpRequest, response: Response) -> HttpResponse:
    """Put the tag on a rendered answer, or answer 304 where the client has these bytes already."""
    tag = response.headers["ETag"] = etag_of(response.content)
    if request.method not in ("GET", "HEAD"):
        return response
    known = parse_etags(request.headers.get("If-None-Match", ""))
    # If-None-Match compares weakly (RFC 9110, section 13.1.2).
    if known != ["*"] and tag not in [each.removeprefix("W/") for each in known]:
        return response
    unchanged = HttpResponseNotModified()
    for name in _KEPT_ON_304:
        if name in response.headers:
            unchanged.headers[name] = response.headers[name]
    return unchanged


def require_match(request: HttpRequest, content: bytes) -> None:
    """Refuse a change that does not name the version it changes, or names one that is gone.

    Raises
    ------
    Refusal
        428 without If-Match, 412 where it names other bytes than these. If-Match compares
        strongly (RFC 9110, section 13.1.1), so a weak tag never matches.
    """
    wanted = request.headers.get("If-Match")
    if wanted is None:
        raise Refusal("precondition-required", "The header If-Match is missing.")
    tags = parse_etags(wanted)
    if tags != ["*"] and etag_of(content) not in tags:
        raise Refusal("changed-meanwhile", "If-Match names another version than the present one.")
