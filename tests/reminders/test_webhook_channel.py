"""From a due item to a message in another program, by `tick` alone."""

import datetime
import json

import pytest
from django.core.management import call_command
from standardwebhooks import Webhook as Verifier

from maintenance.models import DueItem, Message, ReminderPreference, WebhookDelivery
from maintenance.queries.today import this_instant
from maintenance.services.webhooks import add_webhook
from tests.factories import ComponentFactory, DueItemFactory, MemberFactory, VehicleFactory
from tests.faults.webhook_receiver import Receiver

pytestmark = pytest.mark.django_db


@pytest.fixture
def receiver(tmp_path, settings):
    settings.WEBHOOK_ALLOWED_HOSTS = ["localhost"]
    with Receiver(tmp_path) as process:
        yield process


@pytest.fixture
def keeper():
    member = MemberFactory(role="keeper")
    ReminderPreference.objects.create(
        member=member, collection=member.collection, channels=["webhook"], lead_days=[7]
    )
    return member


def due_in(member, days, **about):
    """Give a member's car an item that falls due in so many days."""
    car = VehicleFactory(collection=member.collection, keeper=member, **about)
    part = ComponentFactory(vehicle=car, kind="brake-fluid")
    day = this_instant().date() + datetime.timedelta(days=days)
    return DueItemFactory(
        component=part, due_on=day, falling_due_from=day, caution="Harms eyes and skin."
    )


@pytest.fixture(autouse=True)
def no_nightly_pass(monkeypatch):
    """No engine gave these items: the nightly pass would take them away."""
    name = "maintenance.management.commands.tick.collections_to_compute"
    monkeypatch.setattr(name, lambda at: [])


def test_a_reminder_reaches_the_webhook_once_with_what_the_member_may_see(receiver, keeper):
    item = due_in(keeper, 5, registration="HM 7")
    due_in(MemberFactory(collection=keeper.collection, role="keeper"), 5, registration="OTHER")
    url = receiver.url("/status/200")
    _, secret = add_webhook(member=keeper, name="shelf", url=url, at=this_instant())

    for _ in range(3):
        call_command("tick")

    (arrived,) = receiver.received
    Verifier(secret).verify(arrived["body"], arrived["headers"])
    said = json.loads(arrived["body"])
    assert said["type"] == "due_item.reminder"
    assert said["data"]["vehicle"]["registration"] == "HM 7"
    assert said["data"]["lead_days"] == 7
    told = said["data"]["due_item"]
    assert (told["id"], told["due_on"]) == (str(item.pk), item.due_on.isoformat())
    assert (told["sentence"], told["caution"]) == (item.sentence, item.caution)
    assert told["working"].endswith(f"/api/v1/due-items/{item.pk}/working")


def test_every_webhook_of_the_member_is_told(receiver, keeper):
    due_in(keeper, 5)
    for number in (200, 204):
        url = receiver.url(f"/status/{number}")
        add_webhook(member=keeper, name="shelf", url=url, at=this_instant())

    call_command("tick")

    assert sorted(each["path"] for each in receiver.received) == ["/status/200", "/status/204"]


def test_a_receiver_that_is_down_gets_the_reminder_later_under_the_same_identifier(
    receiver, keeper
):
    due_in(keeper, 5)
    webhook, _ = add_webhook(
        member=keeper, name="shelf", url=receiver.url("/status/500"), at=this_instant()
    )
    call_command("tick")

    type(webhook).objects.filter(pk=webhook.pk).update(url=receiver.url("/status/200"))
    WebhookDelivery.objects.update(next_attempt_at=this_instant())
    call_command("tick")

    first, second = receiver.received
    assert first["headers"]["webhook-id"] == second["headers"]["webhook-id"]
    assert first["body"] == second["body"]
    assert WebhookDelivery.objects.get().state == "taken"


def test_a_reminder_for_a_member_without_a_webhook_is_shown_as_undelivered(keeper):
    due_in(keeper, 5)

    call_command("tick")

    assert Message.objects.get().state == "undelivered"
    assert "no webhook" in Message.objects.get().last_error


def test_work_recorded_before_sending_leaves_nothing_to_tell(receiver, keeper, monkeypatch):
    item = due_in(keeper, 5)
    add_webhook(member=keeper, name="shelf", url=receiver.url("/status/200"), at=this_instant())
    with monkeypatch.context() as found_only:
        name = "maintenance.management.commands.tick.Command._send"
        found_only.setattr(name, lambda self, channel: None)
        call_command("tick")
    assert Message.objects.count() == 1

    DueItem.objects.filter(pk=item.pk).delete()
    call_command("tick")

    assert receiver.received == []
