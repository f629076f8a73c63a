"""The first page: who one is, and where to go."""

from typing import Any

from django.views.generic import TemplateView

from maintenance.pages.signed_in import SignedIn
from maintenance.queries.accounts import memberships_of


class Start(SignedIn, TemplateView):
    template_name = "pages/start.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs, memberships=memberships_of(self.account))
