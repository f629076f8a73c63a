"""The secret addresses from which calendar programs fetch what falls due.

Such programs send no token and keep no cookie: who knows the address may read. So it is answered
without session, says the same of an unknown address as of a revoked one, and asks whoever gets it
to pass it on to nobody.
"""

from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.http import http_date, quote_etag
from django.views import View

from api.problems import plain_problem
from api.rate_limits import TooManyRequests, spend_calendar, spend_failure
from maintenance.models import CalendarFeed
from maintenance.queries.second_lock import see
from maintenance.queries.today import this_instant
from maintenance.reminders.calendar.feeds import feed_of, serve

_HEADERS = {
    "Cache-Control": "private, no-cache",
    # The address is the key: no page that is reached from the calendar may learn it.
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}


class CalendarFeedAddress(View):
    """One calendar, as events or, with `?as=todos`, as to-dos."""

    http_method_names = ["get", "head"]

    def get(self, request: HttpRequest, secret: str) -> HttpResponseBase:
        feed = feed_of(secret)
        if feed is None:
            spend_failure(request)
            return plain_problem("not-found")
        spend_calendar(request, secret)
        see([feed.collection_id])
        form = request.GET.get("as", feed.form)
        if wrong := _wrong_query(request, form):
            return plain_problem("invalid-query", wrong)
        served = serve(feed, form=form, at=this_instant())
        answer = HttpResponse(served.content, content_type="text/calendar; charset=utf-8")
        answer["ETag"] = quote_etag(served.digest)
        answer["Last-Modified"] = http_date(served.since.timestamp())
        answered = get_conditional_response(
            request, answer["ETag"], int(served.since.timestamp()), answer
        )
        return answered or answer

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        try:
            answer = super().dispatch(request, *args, **kwargs)
        except TooManyRequests as too_many:
            answer = plain_problem("too-many-requests", str(too_many.detail))
            answer["Retry-After"] = str(too_many.wait)
        if answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
            allow = answer["Allow"]
            answer = plain_problem("method-not-allowed")
            answer["Allow"] = allow
        for name, value in _HEADERS.items():
            answer[name] = value
        return answer


def _wrong_query(request: HttpRequest, form: str) -> str:
    if unknown := [name for name in request.GET if name != "as"]:
        return f"{unknown[0]}: is no parameter of this address, which takes as."
    if form not in CalendarFeed.Form.values:
        return "as: give events or todos."
    return ""
