"""The working of one due item, to which mails and calendars lead: read only."""

from typing import Any

from django.http import Http404
from django.urls import reverse
from django.views.generic import TemplateView

from maintenance.models import DueItem
from maintenance.pages.signed_in import SignedIn
from maintenance.queries.access import sight_of
from maintenance.queries.put_offs import with_put_offs
from maintenance.queries.today import today_in
from maintenance.services.refusals import Refused
from maintenance.services.working import working_of

_PICTURES = {
    "wear": "What was measured, with the line through it, its band and the limit.",
    "boiling_point": "Estimated boiling point of the fluid over the years, with its band.",
}


class DueItemPage(SignedIn, TemplateView):
    """What is not in sight is not found, as in the API; nor is what somebody has recorded since."""

    template_name = "pages/due_item.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        items = DueItem.objects.select_related("vehicle__collection")
        item = sight_of(self.account).rows("due-items", items).filter(pk=kwargs["pk"]).first()
        if item is None:
            raise Http404
        on = today_in(item.vehicle.collection)
        try:
            working = working_of(due_item=item, on=on)
        except Refused as gone:
            raise Http404 from gone
        with_put_offs([item], on=on)
        plot = reverse("due-items-plot", args=[item.pk])
        return super().get_context_data(
            **kwargs,
            item=item,
            working=working,
            status=DueItem.Status(working["status"]),
            governed_by=DueItem.GovernedBy(working["governed_by"]),
            criteria=[
                {**each, "name": DueItem.GovernedBy(each["criterion"]).label}
                for each in working["criteria"]
            ],
            estimates=[
                {**each, "name": each["quantity"].replace("_", " ")}
                for each in working["condition"]
            ],
            pictures=[
                {"address": f"{plot}?of={name}&on={on}", "shows": _PICTURES[name]}
                for name in working["plots"]
            ],
        )
