"""The working of one due item, to which mails and calendars lead: read only."""

from typing import Any

from django.http import Http404
from django.views.generic import TemplateView

from maintenance.models import DueItem
from maintenance.pages.signed_in import SignedIn
from maintenance.queries.access import sight_of
from maintenance.queries.today import today_in
from maintenance.services.refusals import Refused
from maintenance.services.working import working_of


class DueItemPage(SignedIn, TemplateView):
    """What is not in sight is not found, as in the API; nor is what somebody has recorded since."""

    template_name = "pages/due_item.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        items = DueItem.objects.select_related("vehicle__collection")
        item = sight_of(self.account).rows("due-items", items).filter(pk=kwargs["pk"]).first()
        if item is None:
            raise Http404
        try:
            working = working_of(due_item=item, on=today_in(item.vehicle.collection))
        except Refused as gone:
            raise Http404 from gone
        return super().get_context_data(**kwargs, item=item, working=working)
