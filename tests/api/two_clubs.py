"""Two clubs with a member of every role each, and one row of every noun on one keeper's car."""

import copy

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from maintenance import models
from maintenance.queries.roles import right_to
from maintenance.reminders.channels.webhook_signature import new_secret
from tests import factories, factories_of_members
from tests.api.callers import Caller
from tests.api.routes import NOWHERE
from tests.api.test_access import furnished

#: By noun, what a row is made for; a car, where nothing is said.
MADE_FOR = {
    "vehicles": "collection",
    "invitations": "collection",
    "interval-rules": "collection",
    "part-offers": "collection",
    "imports": "collection",
    "exports": "collection",
    "reminder-preferences": "member",
    "calendar-feeds": "member",
    "webhooks": "member",
    "attachments": "service_event",
    "postponements": "due_item",
    "plan-parts": "job",
}
#: What files are asked for by the query.
ASKED = {
    "attachments": "?service_event={service_event}&name=invoice.pdf",
    "imports": "?collection={collection}",
}
SHEET = b"registration,on,component,action\r\nHM 1,2026-11-05,coolant,renew\r\n"


class TwoClubs:
    """The rows are those of the keeper's car and of the keeper; everybody asks for them."""

    def __init__(self):
        self.keeper = factories.MemberFactory(role="keeper")
        self.club = self.keeper.collection
        self.car = factories.VehicleFactory(collection=self.club, keeper=self.keeper)
        self.callers = {"keeper": Caller(self.keeper.account)}
        self._roles = {"keeper": "keeper"}
        for role in ("secretary", "technical_officer", "viewer"):
            self._joins(role, role, self.club)
        self._joins("keeper of another car", "keeper", self.club)
        self.other = factories.CollectionFactory()
        for role in models.Member.Role.values:
            self._joins(f"{role} of another club", role, self.other)
        self.callers["member of no club"] = Caller(factories.AccountFactory())
        self.rows = {
            **furnished(self.car),
            **rows_of(self.keeper, self.car),
            "members": self.keeper,
            "access-tokens": factories.AccessTokenFactory(account=self.keeper.account),
            "invitations": factories.InvitationFactory(collection=self.club),
            "transfers": factories_of_members.TransferFactory(
                vehicle=self.car, to_keeper=self.keeper, offered_by=self.keeper.account
            ),
            "part-offers": factories_of_members.PartOfferFactory(collection=self.club),
            "component-kinds": models.Component(pk="brake-fluid"),
        }
        models.DueItem.objects.update(criticality_rank=1)
        fellow = self.club.members.get(role="secretary")
        self.also = {"transfers": {"to_keeper": str(fellow.pk)}}
        keep_file_of(self.rows["attachments"])

    def _joins(self, who, role, club):
        member = factories.MemberFactory(role=role, collection=club)
        if role == "keeper":
            factories.VehicleFactory(collection=club, keeper=member)
        self.callers[who] = Caller(member.account)
        if club == self.club:
            self._roles[who] = role

    def role(self, who):
        """Return the role that somebody has in the club of the car, if any."""
        return self._roles.get(who)

    def reaches(self, who, right):
        """Say by the table whether somebody has the right on the rows."""
        if right.of_anyone:
            return "self" not in right.reach.values() or who == "keeper"
        reach = right.reach.get(self.role(who), "-")
        return reach == "all" or (reach == "own" and who == "keeper")

    def may_make(self, who, right, noun):
        """Say by the table whether somebody may make a row for the owner that `named` names."""
        if right.of_anyone:
            return True
        if MADE_FOR.get(noun) == "collection":
            return right.reach.get(self.role(who), "-") in ("own", "all")
        return self.reaches(who, right)

    def sees_owner(self, who, noun):
        """Say whether somebody sees what a row would be made for."""
        made_for = MADE_FOR.get(noun, "vehicle")
        if made_for == "member":
            return who == "keeper"
        nouns = {"collection": "collections"}
        return self.reaches(who, right_to("see", nouns.get(made_for, "vehicles")))

    def named(self, noun):
        """Return by name what the body of a call names."""
        rows = {
            "vehicle": self.car,
            "collection": self.club,
            "member": self.keeper,
            "service_event": self.rows["service-events"],
            "due_item": self.rows["due-items"],
            "job": self.rows["plan-jobs"],
        }
        return {name: str(row.pk) for name, row in rows.items()}

    def asks(self, who, route, method, *, pk=None, nowhere=False):
        """Send a call as the OpenAPI document's example, but for what it names."""
        call, named = route.calls[method], self.named(route.noun)
        if nowhere:
            named = dict.fromkeys(named, NOWHERE)
        body = _naming(route.example(call), named)
        if route.noun in ("visit-plans", "transfers") and call == "create":
            body = {"vehicle": named["vehicle"]} | self.also.get(route.noun, {})
        where = route.at(pk)
        sent = {"data": body, "content_type": "application/json"}
        if call == "create" and route.noun in ASKED:
            where += ASKED[route.noun].format(**named)
            sent = {"data": SHEET, "content_type": "text/csv"}
            if route.noun == "attachments":
                sent = {"data": b"%PDF-1.4\n%%EOF\n", "content_type": "application/pdf"}
        if method in ("get", "head"):
            sent = {}
        client = self.callers[who].client
        return getattr(client, method)(where, headers={"If-Match": "*"}, **sent)


def rows_of(member, car):
    """Return rows of what belongs to one member, by noun."""
    of = {"member": member, "collection": member.collection}
    hook = factories_of_members.WebhookFactory(**of)
    models.WebhookSecret.objects.create(webhook=hook, text=new_secret(), issued_at=factories.NOW)
    job = factories_of_members.ImportJobFactory(**of)
    return {
        "reminders": factories_of_members.ReminderFactory(**of, vehicle=car),
        "reminder-preferences": models.ReminderPreference.objects.create(**of),
        "calendar-feeds": factories_of_members.CalendarFeedFactory(**of),
        "webhooks": hook,
        "webhook-deliveries": factories_of_members.WebhookDeliveryFactory(webhook=hook),
        "imports": job,
        "import-errors": models.ImportProblem.objects.create(job=job, detail="row 2: no day"),
        "exports": factories_of_members.ExportJobFactory(**of),
    }


def keep_file_of(attachment):
    """Keep a file where the attachment says that it is."""
    if not default_storage.exists(attachment.path):
        default_storage.save(attachment.path, ContentFile(b"%PDF-1.4"))


def _naming(example, named):
    if not isinstance(example, dict):
        return example
    body = copy.deepcopy(example)
    body.pop("keeper", None)
    body.pop("assembly", None)
    return body | {name: pk for name, pk in named.items() if name in body}
