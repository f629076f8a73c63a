"""A reminder on its way to webhooks: told while it is true, settled by what became of it."""

import datetime
import functools

import pytest

from maintenance.models import Message, Reminder, Webhook, WebhookDelivery
from maintenance.reminders import figures
from maintenance.reminders.channels.webhook_deliveries import deliver_queued
from maintenance.reminders.channels.webhook_request import Answered
from maintenance.reminders.deliver import deliver
from maintenance.services.reminders import send_again
from maintenance.services.webhooks import add_webhook, enable_webhook, remove_webhook
from tests.reminders.test_webhook_deliveries import Line
from tests.reminders.told import NOW, find, item_due, preference_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def line(monkeypatch):
    stand_in = Line()
    through = functools.partial(deliver_queued, send=stand_in.post)
    monkeypatch.setattr("maintenance.reminders.channels.webhook.deliver_queued", through)
    return stand_in


@pytest.fixture
def item():
    """Brake fluid due in thirty days, told to one webhook of the keeper."""
    found = item_due(30)
    preference_of(found.vehicle.keeper, channels=["webhook"])
    hook(found)
    find(found)
    return found


def hook(item, name="shelf"):
    url = f"https://{name}.example/hook"
    return add_webhook(member=item.vehicle.keeper, name=name, url=url, at=NOW)[0]


def deliver_all(line, **later):
    line.advance(**later)
    return deliver(channel="webhook", clock=line.clock)


def told():
    return Reminder.objects.get().state, Message.objects.get().state


def test_a_reminder_is_sent_when_the_webhook_took_it_and_not_before(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    waiting = told()
    line.answer = Answered(200)
    deliver_all(line, hours=5)
    assert (waiting, told()) == (("waiting", "handed_over"), ("sent", "sent"))


def test_the_time_at_which_it_was_sent_is_that_at_which_it_was_taken(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    line.answer = Answered(200)
    deliver_all(line, hours=5)
    assert Message.objects.get().sent_at == NOW + datetime.timedelta(hours=5)


def test_work_recorded_while_the_receiver_was_down_is_not_told(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    item.delete()
    line.answer = Answered(200)
    deliver_all(line, hours=5)
    assert len(line.sent) == 1
    delivery = WebhookDelivery.objects.get()
    assert (delivery.state, delivery.reason) == (
        "dropped",
        "The work is recorded or no longer asked for.",
    )
    assert told() == ("dropped", "dropped")


def test_a_webhook_enabled_after_weeks_is_told_what_is_due_now_and_not_all_it_missed(item, line):
    line.answer = Answered(410)
    deliver_all(line)
    enable_webhook(webhook=Webhook.objects.get(), at=NOW + datetime.timedelta(days=23))
    line.answer = Answered(200)
    find(item, days_later=23)
    deliver_all(line, days=23)
    assert sorted(Reminder.objects.values_list("lead_days", "state")) == [
        (7, "sent"),
        (30, "dropped"),
    ]
    assert len(line.sent) == 2


def test_one_webhook_of_two_that_takes_it_is_enough(item, line):
    hook(item, "bench")
    line.answers["https://shelf.example/hook"] = Answered(503)
    deliver_all(line)
    states = WebhookDelivery.objects.values_list("state", flat=True)
    assert (sorted(states), told()[0]) == (["taken", "waiting"], "sent")


def test_a_reminder_that_every_webhook_gave_up_is_undelivered(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    WebhookDelivery.objects.update(first_tried_at=NOW - datetime.timedelta(days=6))
    deliver_all(line, hours=5)
    assert told() == ("undelivered", "undelivered")
    assert Message.objects.get().last_error == "answers 503"


def test_an_undelivered_reminder_sent_again_is_tried_at_the_webhook_again(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    WebhookDelivery.objects.update(first_tried_at=NOW - datetime.timedelta(days=6))
    deliver_all(line, hours=5)
    line.answer = Answered(200)
    send_again(reminder=Reminder.objects.get(), at=line.instant)
    deliver_all(line, minutes=1)
    assert told() == ("sent", "sent")


def test_a_reminder_whose_webhook_is_removed_is_undelivered(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    remove_webhook(webhook=Webhook.objects.get(), version=1)
    assert told() == ("undelivered", "undelivered")
    assert "removed" in Message.objects.get().last_error


def test_a_member_who_chooses_webhooks_again_is_told_after_all(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    member = item.vehicle.keeper
    member.reminder_preference.channels = []
    member.reminder_preference.save()
    deliver_all(line, hours=5)
    member.reminder_preference.channels = ["webhook"]
    member.reminder_preference.save()
    line.answer = Answered(200)
    find(item, at=line.instant)
    deliver_all(line, hours=5)
    assert Reminder.objects.get().state == "sent"


def test_a_round_counts_what_was_taken_and_what_failed_once(item, line):
    done = deliver_all(line)
    assert (done.handed_over, done.sent, done.failed) == (1, 1, 0)


def test_tries_that_failed_are_counted_and_sending_again_takes_none_back(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    WebhookDelivery.objects.update(first_tried_at=NOW - datetime.timedelta(days=6))
    deliver_all(line, hours=5)
    before = figures.failures()
    send_again(reminder=Reminder.objects.get(), at=line.instant)
    assert (before, figures.failures()) == ({"webhook": 2}, {"webhook": 2})


def test_what_a_webhook_has_not_taken_counts_as_waiting(item, line):
    line.answer = Answered(503)
    deliver_all(line)
    assert figures.messages_by_state() == {("webhook", "handed_over"): 1}
    assert figures.oldest_waiting_s(NOW + datetime.timedelta(minutes=10)) == {"webhook": 600}
