"""One click to stop e-mail (RFC 8058): no session, no cookie, no redirect."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views import View
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from api.problems import plain_problem
from maintenance.reminders.unsubscribe import read_token
from maintenance.services.reminders import unsubscribe

ONE_CLICK = "One-Click"


@method_decorator(csrf_exempt, name="dispatch")
@method_decorator(never_cache, name="dispatch")
class Unsubscribe(View):
    """Reading the address only asks; what stops the e-mails is to send `One-Click` to it."""

    http_method_names = ["get", "head", "post"]

    def get(self, request: HttpRequest, token: str) -> HttpResponse:
        if read_token(token) is None:
            return plain_problem("not-found")
        return render(request, "reminders/unsubscribe.html", {"one_click": ONE_CLICK})

    def post(self, request: HttpRequest, token: str) -> HttpResponse:
        if request.POST.get("List-Unsubscribe") != ONE_CLICK:
            return plain_problem("malformed-request", "Send List-Unsubscribe=One-Click.")
        whom = read_token(token)
        if whom is None or not unsubscribe(member=whom[0], channel=whom[1]):
            return plain_problem("not-found")
        return HttpResponse(
            _("You will get no more of these e-mails."), content_type="text/plain; charset=utf-8"
        )
