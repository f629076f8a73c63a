"""Signing in and out, and what is said when somebody has guessed too often."""

import datetime
import math
from typing import Any

from django.contrib import messages
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.contrib.auth.views import LoginView, LogoutView
from django.forms import TextInput
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from maintenance.models import Account
from maintenance.queries.today import this_instant
from maintenance.services.sign_in import locked_until

TOO_MANY_REQUESTS = 429


class SignInForm(AuthenticationForm):
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": _(
            "This user name and this password do not go together. Mind capital and small letters."
        ),
    }
    # Django sets the longest name after the field has made its checks: a longer one would get as
    # far as the table of failures, which PostgreSQL refuses.
    username = UsernameField(
        label=_("User name"),
        max_length=Account._meta.get_field("username").max_length,
        widget=TextInput(attrs={"autofocus": True}),
    )


class SignIn(LoginView):
    """The one door for browsers; the admin's leads here too."""

    template_name = "pages/sign_in.html"
    authentication_form = SignInForm


class SignOut(LogoutView):
    http_method_names = ["post"]

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        answer = super().post(request, *args, **kwargs)
        messages.success(request, _("You are signed out."))
        return answer


def locked_out(
    request: HttpRequest, original: HttpResponse | None, credentials: dict[str, Any] | None
) -> HttpResponse:
    """Answer who is locked out, in the same words whether or not there is such a user."""
    at = this_instant()
    until = locked_until(request=request, username=(credentials or {}).get("username", ""), at=at)
    wait = max(until - at, datetime.timedelta(seconds=1))
    answer = render(
        request,
        "pages/locked_out.html",
        {"minutes": math.ceil(wait / datetime.timedelta(minutes=1))},
        status=TOO_MANY_REQUESTS,
    )
    answer.headers["Retry-After"] = str(math.ceil(wait.total_seconds()))
    return answer
