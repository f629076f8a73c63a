"""How often a caller may ask: per token, per signed-in account, per address of whoever is nobody.

Counted by the library `limits`, in one step with the question whether there is any left: two
requests at once can't both take the last one. The headers are those of
draft-ietf-httpapi-ratelimit-headers-10.
"""

import functools
import hashlib
import logging
import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from limits import RateLimitItem, parse
from limits.errors import StorageError
from limits.storage import storage_from_string
from limits.strategies import FixedWindowRateLimiter
from rest_framework.exceptions import Throttled
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from maintenance.models import AccessToken
from maintenance.services.client_address import client_address

READS, WRITES, ANONYMOUS, CALENDAR, BAD_TOKENS = (
    *("reads", "writes", "anonymous"),
    *("calendar", "bad-tokens"),
)
_SAID: Final = "_rate_limit_said"
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Left:
    """What a policy leaves a caller: of how many in which time, until when [s]."""

    policy: str
    item: RateLimitItem
    remaining: int
    reset: int

    def headers(self) -> dict[str, str]:
        """Return the headers that say so."""
        quota, window = self.item.amount, self.item.get_expiry()
        return {
            "RateLimit-Policy": f'"{self.policy}";q={quota};w={window}',
            "RateLimit": f'"{self.policy}";r={self.remaining};t={self.reset}',
        }


class TooManyRequests(Throttled):
    """Nothing is left of a policy; `wait` is the time until there is [s]."""

    def __init__(self, left: Left) -> None:
        super().__init__(detail=f"Nothing is left of the {left.policy} that may be asked for now.")
        self.wait = max(left.reset, 1)


def spend(request: HttpRequest, policy: str, key: str) -> None:
    """Count one request of a caller; does nothing under a policy that is empty.

    Raises `TooManyRequests` where none was left. Where the storage can't be reached, callers are
    let through: a lost counter must not take the service down with it.
    """
    if not (text := settings.RATE_LIMITS.get(policy)):
        return
    item, limiter = limit_of(text), _limiter(settings.RATE_LIMIT_STORAGE)
    try:
        allowed = limiter.hit(item, policy, key)
        reset, remaining = limiter.get_window_stats(item, policy, key)
    except StorageError as unreachable:
        _log.warning("requests are not counted: %s", unreachable)
        return
    left = Left(policy, item, remaining, math.ceil(max(reset - time.time(), 0)))
    setattr(request, _SAID, left.headers())
    if not allowed:
        raise TooManyRequests(left)


def spend_failure(request: HttpRequest) -> None:
    """Count a token or secret address that opens nothing, by the address of who sent it.

    A caller whose token is good is let in all the same: others behind the address may guess.
    """
    spend(request, BAD_TOKENS, client_address(request) or "unknown")


def spend_calendar(request: HttpRequest, secret: str) -> None:
    """Count a visit to a calendar feed, by its address."""
    # The counters may stand in a server of others: they need not tell the address.
    spend(request, CALENDAR, hashlib.sha256(secret.encode()).hexdigest())


@functools.cache
def limit_of(text: str) -> RateLimitItem:
    """Read a limit such as `6000/hour`."""
    return parse(text)


@functools.cache
def _limiter(storage: str) -> FixedWindowRateLimiter:
    return FixedWindowRateLimiter(storage_from_string(storage, wrap_exceptions=True))


class PerCaller(BaseThrottle):
    """Counts every call of the API once, by whoever makes it."""

    def allow_request(self, request: Request, view: Any) -> bool:
        sent = request._request
        if getattr(sent, _SAID, None) is None:
            spend(sent, *_whose(request))
        return True


def _whose(request: Request) -> tuple[str, str]:
    if not request.user.is_authenticated:
        return ANONYMOUS, client_address(request._request) or "unknown"
    policy = READS if request.method in SAFE_METHODS else WRITES
    token = request.auth
    return policy, f"token {token.pk}" if isinstance(token, AccessToken) else f"{request.user.pk}"


Answer = Callable[[HttpRequest], HttpResponseBase]


def told(get_response: Answer) -> Answer:
    """Tell every caller what is left, also with a refusal."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        said: dict[str, Any] = getattr(request, _SAID, {})
        for name, value in said.items():
            response.headers[name] = value
        return response

    return middleware
