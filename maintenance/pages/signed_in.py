"""What the pages of a signed-in account share."""

from typing import Any, cast

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.generic import View

from maintenance.models import Account
from maintenance.queries.access import sight_of
from maintenance.queries.second_lock import see


class SignedIn(LoginRequiredMixin, View):
    """Sends others to sign in first; what it shows is kept by no cache."""

    @method_decorator(never_cache)
    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if isinstance(request.user, Account):
            see(sight_of(request.user).collections)
        return super().dispatch(request, *args, **kwargs)

    @property
    def account(self) -> Account:
        return cast(Account, self.request.user)
