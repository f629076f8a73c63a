"""Guessing passwords is stopped: the one module that knows django-axes.

Failures are counted by user name and address together, so that nobody can lock others out from
afar, and by address over all names, so that one password is not tried on everybody.
"""

import datetime
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db.models import Max, QuerySet, Sum
from django.http import HttpRequest

from maintenance.services.client_address import client_address


class FailureLedger(AxesDatabaseHandler):  # type: ignore[misc]
    """Locks a name at an address, and an address altogether after many more failures."""

    def is_locked(self, request: Any, credentials: dict[str, Any] | None = None) -> bool:
        if super().is_locked(request, credentials):
            return True
        failures = _failures(request.axes_ip_address, since=_begin(request.axes_attempt_time))
        total = failures.aggregate(total=Sum("failures_since_start"))["total"] or 0
        return bool(total >= settings.SIGN_IN_FAILURES_OF_ADDRESS)


def locked_until(
    *, request: HttpRequest, username: str, at: datetime.datetime
) -> datetime.datetime:
    """Return when a name that is locked at the request's address may be tried again.

    It is the end for certain; a lock ends sooner where its failures are spread over time.
    """
    of_address = _failures(client_address(request), since=_begin(at))
    of_name = of_address.filter(username=username)
    latest = _latest(of_name) or _latest(of_address) or at
    return latest + settings.AXES_COOLOFF_TIME


def failures_of(*, username: str) -> list[dict[str, Any]]:
    """Return when and from where a user name was tried in vain, as far as that is still kept."""
    columns = ("attempt_time", "ip_address", "failures_since_start")
    return list(AccessAttempt.objects.filter(username=username).order_by("pk").values(*columns))


def unlock(*, username: str | None = None, address: str | None = None) -> int:
    """Forget the failures of a user name, an address or both together; return how many rows."""
    if username is None and address is None:
        raise ValueError("unlock needs a user name or an address")
    # axes would take an empty name for "every name".
    wanted = {"username": username, "ip_address": address}
    forgotten = AccessAttempt.objects.filter(
        **{name: value for name, value in wanted.items() if value is not None}
    )
    count: int = forgotten.count()
    forgotten.delete()
    return count


def forget_the_expired(*, at: datetime.datetime) -> int:
    """Delete sessions and failures that no longer count; return how many rows."""
    sessions, _ = Session.objects.filter(expire_date__lt=at).delete()
    failures, _ = AccessAttempt.objects.filter(attempt_time__lt=_begin(at)).delete()
    return sessions + int(failures)


def _failures(address: str | None, *, since: datetime.datetime) -> QuerySet[Any]:
    # Without an address, as behind a socket, all of them share one count.
    rows: QuerySet[Any] = AccessAttempt.objects.filter(ip_address=address, attempt_time__gte=since)
    return rows


def _latest(failures: QuerySet[Any]) -> datetime.datetime | None:
    latest: datetime.datetime | None = failures.aggregate(at=Max("attempt_time"))["at"]
    return latest


def _begin(at: datetime.datetime) -> datetime.datetime:
    begin: datetime.datetime = at - settings.AXES_COOLOFF_TIME
    return begin
