"""One's own tokens: made, shown once, looked over, revoked."""

import datetime
from typing import TYPE_CHECKING, Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse_lazy
from django.utils.translation import gettext_lazy as _
from django.views.generic import FormView, View

from maintenance.models import AccessToken
from maintenance.pages.signed_in import SignedIn
from maintenance.queries.accounts import tokens_of
from maintenance.queries.today import this_instant
from maintenance.services.refusals import Refused
from maintenance.services.tokens import issue_token, revoke_token

_SCOPES = (
    (AccessToken.Scope.READ, _("read what you may see")),
    (AccessToken.Scope.RECORD, _("also record work, readings and lay-ups")),
    (AccessToken.Scope.MANAGE, _("do all that you may, tokens included")),
)


class TokenForm(forms.Form):
    name = forms.CharField(
        label=_("What it is for"),
        max_length=80,
        help_text=_("In your own words, such as “calendar on the workshop wall”."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    scope = forms.ChoiceField(
        label=_("The program may"),
        choices=_SCOPES,
        initial=AccessToken.Scope.READ,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["days"] = forms.IntegerField(
            label=_("It expires after this many days"),
            initial=settings.TOKEN_DAYS,
            min_value=1,
            max_value=settings.TOKEN_DAYS_LIMIT,
        )


if TYPE_CHECKING:  # generic in the stubs alone
    TokenFormView = FormView[TokenForm]
else:
    TokenFormView = FormView


class Tokens(SignedIn, TokenFormView):
    template_name = "pages/tokens.html"
    form_class = TokenForm
    success_url = reverse_lazy("tokens")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        tokens = tokens_of(self.account).order_by("-id")
        return super().get_context_data(tokens=tokens, now=this_instant(), **kwargs)

    def form_valid(self, form: TokenForm) -> HttpResponse:
        said, at = form.cleaned_data, this_instant()
        try:
            token, text = issue_token(
                account=self.account,
                name=said["name"],
                scope=said["scope"],
                expires_at=at + datetime.timedelta(days=said["days"]),
                at=at,
            )
        except Refused as refused:
            for problem in refused.problems:
                form.add_error(_FIELDS[problem.pointer], problem.message)
            return self.form_invalid(form)
        # Answered at once and not after a redirect, which would have to keep the text somewhere.
        shown = self.get_context_data(form=self.form_class(), issued=token, text=text)
        return self.render_to_response(shown)


#: In which field of the form the service's refusals are shown.
_FIELDS = {"/name": "name", "/scope": "scope", "/expires_at": "days"}


class RevokeToken(SignedIn, View):
    http_method_names = ["post"]

    def post(self, request: HttpRequest, pk: Any) -> HttpResponse:
        token = get_object_or_404(tokens_of(self.account), pk=pk)
        revoke_token(token=token, at=this_instant())
        messages.success(request, _("“%(name)s” is revoked.") % {"name": token.name})
        return redirect("tokens")
