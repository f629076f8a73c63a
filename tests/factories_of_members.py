"""Rows that belong to one member, and offers of parts; for tests of who sees them."""

import datetime
import hashlib
import uuid

import factory
from factory.django import DjangoModelFactory

from maintenance import models
from tests.factories import NOW, CollectionFactory, MemberFactory, VehicleFactory


class OfMemberFactory(DjangoModelFactory):
    class Meta:
        abstract = True

    member = factory.SubFactory(MemberFactory)
    collection = factory.SelfAttribute("member.collection")


class ReminderFactory(OfMemberFactory):
    class Meta:
        model = models.Reminder

    vehicle = factory.SubFactory(
        VehicleFactory, collection=factory.SelfAttribute("..member.collection")
    )
    item_key = factory.Sequence("rule:{}".format)
    due_on = datetime.date(2027, 1, 15)
    lead_days = 30
    channel = "email"
    state = "undelivered"
    found_at = NOW
    message = factory.LazyAttribute(
        lambda reminder: models.Message.objects.create(
            member=reminder.member,
            collection=reminder.collection,
            channel="email",
            not_before=NOW,
            next_at=NOW,
            state="undelivered",
        )
    )


class CalendarFeedFactory(OfMemberFactory):
    """A feed whose secret is `idlecal_` and its name."""

    class Meta:
        model = models.CalendarFeed

    name = factory.Sequence("what falls due {}".format)
    criticalities = ["safety", "reliability", "appearance"]
    digest = factory.LazyAttribute(
        lambda feed: hashlib.sha256(f"idlecal_{feed.name}".encode()).hexdigest()
    )
    issued_at = NOW


class WebhookFactory(OfMemberFactory):
    class Meta:
        model = models.Webhook

    name = "the parts shelf"
    url = factory.Sequence("https://shelf.example/{}".format)
    added_at = NOW


class WebhookDeliveryFactory(DjangoModelFactory):
    class Meta:
        model = models.WebhookDelivery

    webhook = factory.SubFactory(WebhookFactory)
    collection = factory.SelfAttribute("webhook.collection")
    event = "webhook.test"
    key = factory.LazyFunction(lambda: str(uuid.uuid4()))
    body = "{}"
    state = "given_up"
    queued_at = next_attempt_at = finished_at = NOW


class ImportJobFactory(OfMemberFactory):
    class Meta:
        model = models.ImportJob

    form = "csv"
    state = "refused"
    asked_at = NOW


class ExportJobFactory(OfMemberFactory):
    class Meta:
        model = models.ExportJob

    form = "csv"
    state = "done"
    asked_at = NOW
    content = b"registration,on,component,action\r\n"


class PartOfferFactory(DjangoModelFactory):
    class Meta:
        model = models.PartOffer

    collection = factory.SubFactory(CollectionFactory)
    kind = "brake-hose"
    name = factory.Sequence("hose {}".format)
    price = 31
    currency = "EUR"


class TransferFactory(DjangoModelFactory):
    """A car on offer to another keeper."""

    class Meta:
        model = models.Transfer

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    registration = factory.SelfAttribute("vehicle.registration")
    elsewhere = False
    offered_at = NOW
    expires_at = NOW + datetime.timedelta(days=30)
