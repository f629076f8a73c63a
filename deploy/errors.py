"""What answers when no view does: problem details under /api/, Django's own pages elsewhere."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponseBase
from django.views import defaults

from api import problems

Handler = Callable[..., HttpResponseBase]


def _by_path(of_api: Handler, of_pages: Handler) -> Handler:
    def handler(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        chosen = of_api if request.path.startswith("/api/") else of_pages
        return chosen(request, *args, **kwargs)

    return handler


bad_request = _by_path(problems.bad_request, defaults.bad_request)
forbidden = _by_path(problems.forbidden, defaults.permission_denied)
not_found = _by_path(problems.not_found, defaults.page_not_found)
server_error = _by_path(problems.server_error, defaults.server_error)
