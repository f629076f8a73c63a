"""The page to which the letter of an invitation leads."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views import View
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_protect
from django.views.decorators.debug import sensitive_post_parameters

from maintenance.models import Account
from maintenance.queries.today import this_instant
from maintenance.services.accounts import NewAccount
from maintenance.services.invitations import accept_invitation, open_invitation
from maintenance.services.refusals import Refused


@method_decorator(csrf_protect, name="dispatch")
@method_decorator(never_cache, name="dispatch")
@method_decorator(sensitive_post_parameters("password"), name="dispatch")
class InvitationPage(View):
    """Reading the page changes nothing; whoever is signed in accepts, others make an account."""

    http_method_names = ["get", "head", "post"]

    def get(self, request: HttpRequest, secret: str) -> HttpResponse:
        return self._page(request, secret, {})

    def post(self, request: HttpRequest, secret: str) -> HttpResponse:
        said = {name: request.POST.get(name, "") for name in ("name", "username", "password")}
        account: Account | NewAccount
        if isinstance(request.user, Account):
            account = request.user
        else:
            account = NewAccount(username=said["username"], password=said["password"])
        try:
            member = accept_invitation(
                secret=secret, account=account, name=said["name"], at=this_instant()
            )
        except Refused as refused:
            problems = [(each.pointer.strip("/"), each.message) for each in refused.problems]
            return self._page(request, secret, {"problems": problems, **said, "password": ""}, 422)
        return render(request, "invitations/accepted.html", {"member": member})

    def _page(
        self, request: HttpRequest, secret: str, words: dict[str, object], status: int = 200
    ) -> HttpResponse:
        try:
            invitation = open_invitation(secret=secret, at=this_instant())
        except Refused:
            text = _("This invitation is unknown, used, withdrawn or past its day.")
            return HttpResponse(text, status=404, content_type="text/plain; charset=utf-8")
        words = {"name": invitation.name, **words, "invitation": invitation}
        # The address of the page is the secret itself; the service's Referrer-Policy keeps it here.
        # `no-referrer` would have browsers call the form's origin null, which CSRF refuses.
        return render(request, "invitations/accept.html", words, status=status)
