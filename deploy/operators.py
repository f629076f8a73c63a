"""What the operators' admin needs of every request."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponseBase

from maintenance.queries.second_lock import EVERYTHING, see


class OperatorsSeeEverything:
    """Shows the rows of every collection to the operators' admin, and to nothing else."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_: Any) -> None:
        match = request.resolver_match
        if match and match.app_name == "admin" and request.user.is_staff:
            see(EVERYTHING)
