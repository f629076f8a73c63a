"""Changing a password, and getting a new one by mail."""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import (
    PasswordChangeView,
    PasswordResetConfirmView,
    PasswordResetView,
)
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse_lazy
from django.utils.translation import gettext_lazy as _
from django.views.generic import TemplateView

from maintenance.pages.signed_in import SignedIn
from maintenance.queries.today import this_instant
from maintenance.services.passwords import send_password_links
from maintenance.services.sign_in import unlock


class ChangePassword(SignedIn, PasswordChangeView):
    """Ends the account's other sessions: each carries a digest of the password it began with."""

    template_name = "pages/password.html"
    success_url = reverse_lazy("start")

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        messages.success(
            self.request,
            _("Your password is changed. Other browsers are signed out; tokens go on working."),
        )
        return answer


class ForgottenPassword(PasswordResetView):
    """Answers the same, and as fast, whether or not an account has the address."""

    template_name = "pages/forgotten_password.html"
    success_url = reverse_lazy("forgotten-password-sent")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs, sends_mail=bool(settings.EMAIL_URL))

    def form_valid(self, form: Any) -> HttpResponse:
        address, at = form.cleaned_data["email"], this_instant()
        return _AnswerFirst(
            str(self.success_url), then=lambda: send_password_links(address=address, at=at)
        )


class ForgottenPasswordSent(TemplateView):
    template_name = "pages/forgotten_password_sent.html"


class NewPassword(PasswordResetConfirmView):
    """Where the link in the mail leads."""

    template_name = "pages/new_password.html"
    success_url = reverse_lazy("sign-in")

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        # Who reads the account's mail is no guesser.
        unlock(username=form.user.get_username())
        messages.success(self.request, _("Your new password is set. Sign in with it."))
        return answer


class _AnswerFirst(HttpResponseRedirect):
    """Does its work when the server has sent it: no clock at the other end can time the work."""

    def __init__(self, *args: Any, then: Callable[[], None], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._then = then

    def close(self) -> None:
        try:
            self._then()
        finally:
            super().close()
