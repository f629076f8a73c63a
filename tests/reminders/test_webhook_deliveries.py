"""What becomes of a message to a webhook, try by try, and of a webhook that takes none."""

import datetime
import json

import pytest
from django.core import mail

from maintenance.models import Webhook, WebhookDelivery
from maintenance.reminders import back_off
from maintenance.reminders.channels.webhook_deliveries import LEASE, deliver_queued
from maintenance.reminders.channels.webhook_notices import send_notices
from maintenance.reminders.channels.webhook_request import Answered, Failed
from maintenance.services.refusals import Refused
from maintenance.services.webhooks import (
    add_webhook,
    change_webhook,
    enable_webhook,
    exchange_secret,
    send_again,
    send_test,
)
from tests.factories import NOW, MemberFactory

pytestmark = pytest.mark.django_db

URL = "https://shelf.example/hook"


class Line:
    """Stands where the request is sent, and for the clock."""

    def __init__(self):
        self.instant, self.answer, self.sent = NOW, Answered(200), []
        self.answers = {}

    def clock(self):
        return self.instant

    def advance(self, **by):
        self.instant += datetime.timedelta(**by)

    def post(self, url, *, body, headers, allowed_hosts):
        self.sent.append((url, headers["webhook-id"], body))
        if isinstance(self.answer, BaseException):
            raise self.answer
        return self.answers.get(url, self.answer)

    def round(self):
        return deliver_queued(clock=self.clock, send=self.post).taken

    def rounds_for(self, **span):
        """Deliver every quarter of an hour for so long."""
        end = self.instant + datetime.timedelta(**span)
        while self.instant < end:
            self.round()
            self.advance(minutes=15)


@pytest.fixture
def line():
    return Line()


@pytest.fixture
def webhook():
    added, _ = add_webhook(member=MemberFactory(), name="parts shelf", url=URL, at=NOW)
    return added


def test_a_message_that_is_taken_is_sent_once(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)

    assert (line.round(), line.round()) == (1, 0)

    delivery.refresh_from_db()
    assert (delivery.state, delivery.attempt_count, delivery.last_status) == ("taken", 1, 200)


def test_the_body_names_event_instant_and_data(line, webhook):
    send_test(webhook=webhook, at=NOW)
    line.round()

    body = json.loads(line.sent[0][2])

    assert (body["type"], body["timestamp"]) == ("webhook.test", "2026-11-25T09:30:00+00:00")
    assert body["data"]["webhook"] == str(webhook.pk)


@pytest.mark.parametrize("answer", [Answered(500), Answered(404), Answered(302), Failed("no")])
def test_a_message_that_is_not_taken_waits_no_longer_than_its_bound(line, webhook, answer):
    delivery = send_test(webhook=webhook, at=NOW)
    line.answer = answer

    line.round()

    delivery.refresh_from_db()
    waits = delivery.next_attempt_at - NOW
    assert datetime.timedelta() <= waits <= back_off.bound(1)
    assert delivery.last_error


def test_waits_are_drawn_from_the_whole_of_their_bound(line, webhook):
    """Full jitter: what failed together does not come back together."""
    line.answer = Answered(503)
    waits = []
    for _ in range(40):
        delivery = send_test(webhook=webhook, at=NOW)
        line.round()
        delivery.refresh_from_db()
        waits.append((delivery.next_attempt_at - NOW) / back_off.bound(1))
        WebhookDelivery.objects.all().delete()

    assert min(waits) < 0.25 and max(waits) > 0.75


def test_a_retry_after_that_can_not_be_read_is_passed_over(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)
    line.answer = Answered(429, "soon, perhaps")

    line.round()

    delivery.refresh_from_db()
    assert delivery.next_attempt_at - NOW <= back_off.bound(1)


def test_a_message_left_by_a_dead_worker_is_sent_again_when_its_lease_is_over(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)
    line.answer = KeyboardInterrupt()
    with pytest.raises(KeyboardInterrupt):
        line.round()
    line.answer = Answered(200)

    within, line.instant = line.round(), NOW + LEASE
    after = line.round()

    assert (within, after) == (0, 1)
    assert [message for _, message, _ in line.sent] == [delivery.message_id] * 2


def test_a_fault_of_ours_on_one_webhook_keeps_no_other_waiting(line, webhook):
    other, _ = add_webhook(member=webhook.member, name="other", url=f"{URL}/2", at=NOW)
    for each in (webhook, other):
        send_test(webhook=each, at=NOW)
    line.answer = ZeroDivisionError()

    line.round()

    assert len(line.sent) == 2
    assert set(WebhookDelivery.objects.values_list("last_error", flat=True)) == {
        "is not sent: ZeroDivisionError"
    }


def test_every_try_is_in_the_log(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)
    for line.answer in (Failed("does not answer in time"), Answered(500), Answered(204)):
        line.round()
        line.advance(days=1)

    tries = delivery.attempts.order_by("id").values_list("status", "error")

    assert list(tries) == [(None, "does not answer in time"), (500, "answers 500"), (204, "")]


def test_a_webhook_that_takes_nothing_for_three_days_is_disabled(line, webhook):
    send_test(webhook=webhook, at=NOW)
    line.answer = Answered(500)

    line.rounds_for(days=2, hours=20)
    webhook.refresh_from_db()
    before = webhook.disabled_at
    line.rounds_for(hours=8)

    webhook.refresh_from_db()
    assert before is None
    assert webhook.disabled_at - NOW >= datetime.timedelta(days=3)
    assert webhook.disabled_because == "it took nothing for 3 days; it answers 500"


def test_one_message_that_is_taken_starts_the_three_days_anew(line, webhook):
    line.answer = Answered(500)
    send_test(webhook=webhook, at=NOW)
    line.rounds_for(days=2)
    line.answer = Answered(200)
    line.rounds_for(hours=5)
    line.answer = Answered(500)
    send_test(webhook=webhook, at=line.instant)

    line.rounds_for(days=2)

    webhook.refresh_from_db()
    assert webhook.disabled_at is None


def test_a_webhook_that_says_it_is_gone_is_disabled_at_once(line, webhook):
    send_test(webhook=webhook, at=NOW)
    line.answer = Answered(410)

    line.round()

    webhook.refresh_from_db()
    assert webhook.disabled_because == "it answered 410, that it is gone for good"


def test_the_member_is_told_once_that_a_webhook_was_disabled(line, webhook, settings):
    settings.EMAIL_URL = "memorymail://"
    Webhook.objects.filter(pk=webhook.pk).update(disabled_at=NOW, disabled_because="it is gone")

    send_notices(clock=line.clock)
    send_notices(clock=line.clock)

    (notice,) = mail.outbox
    assert notice.to == [webhook.member.account.email]
    assert "parts shelf" in notice.subject and "it is gone" in notice.body
    assert notice.extra_headers["Auto-Submitted"] == "auto-generated"


def test_a_notice_that_can_not_be_mailed_is_mailed_later(line, webhook, settings, monkeypatch):
    settings.EMAIL_URL = "memorymail://"
    Webhook.objects.filter(pk=webhook.pk).update(disabled_at=NOW, disabled_because="it is gone")
    with monkeypatch.context() as broken:
        broken.setattr(mail.EmailMessage, "send", _refuse)
        send_notices(clock=line.clock)

    send_notices(clock=line.clock)

    assert len(mail.outbox) == 1


def test_what_is_queued_for_a_disabled_webhook_waits_until_it_is_enabled(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)
    Webhook.objects.filter(pk=webhook.pk).update(disabled_at=NOW, disabled_because="it is gone")
    line.rounds_for(hours=2)
    assert not line.sent

    enable_webhook(webhook=webhook, at=line.instant)
    line.round()

    assert [message for _, message, _ in line.sent] == [delivery.message_id]


def test_a_message_is_given_up_after_days_and_can_be_sent_again(line, webhook):
    delivery = send_test(webhook=webhook, at=NOW)
    line.answer = Answered(500)
    line.round()
    line.instant += back_off.GIVE_UP_AFTER
    line.round()
    delivery.refresh_from_db()
    assert delivery.state == "given_up"
    enable_webhook(webhook=webhook, at=line.instant)

    line.answer = Answered(200)
    send_again(delivery=delivery, at=line.instant)
    line.round()

    delivery.refresh_from_db()
    assert delivery.state == "taken"
    assert len({(message, body) for _, message, body in line.sent}) == 1


def test_a_message_that_is_waiting_is_not_sent_again_by_hand(webhook):
    delivery = send_test(webhook=webhook, at=NOW)

    with pytest.raises(Refused, match="is waiting to be sent already"):
        send_again(delivery=delivery, at=NOW)


def test_a_disabled_webhook_takes_no_test(webhook):
    Webhook.objects.filter(pk=webhook.pk).update(disabled_at=NOW, disabled_because="it is gone")

    with pytest.raises(Refused, match="enable it first"):
        send_test(webhook=webhook, at=NOW)


def test_what_is_queued_goes_to_the_new_address(line, webhook):
    send_test(webhook=webhook, at=NOW)

    change_webhook(webhook=webhook, version=1, changes={"url": "https://new.example/hook"})
    line.round()

    assert line.sent[0][0] == "https://new.example/hook"


# Secrets


def live(webhook, at):
    return list(webhook.secrets.exclude(expires_at__lte=at).values_list("text", flat=True))


def test_an_old_secret_signs_for_a_day_beside_the_new_one(webhook):
    new = exchange_secret(webhook=webhook, at=NOW)

    assert len(live(webhook, NOW + datetime.timedelta(hours=23))) == 2
    assert live(webhook, NOW + datetime.timedelta(hours=24)) == [new]


def test_no_more_than_two_secrets_are_ever_live(webhook):
    second = exchange_secret(webhook=webhook, at=NOW)
    third = exchange_secret(webhook=webhook, at=NOW + datetime.timedelta(hours=1))

    assert set(live(webhook, NOW + datetime.timedelta(hours=2))) == {second, third}


def test_a_secret_that_leaked_can_be_ended_at_once(webhook):
    new = exchange_secret(webhook=webhook, at=NOW, overlap=datetime.timedelta())

    assert live(webhook, NOW) == [new]


# Refusals


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": ""}, "/name: is missing"),
        ({"url": ""}, "/url: is missing"),
        ({"url": "http://shelf.example/"}, "/url: must begin with https://"),
        ({"url": "https://192.168.1.1/"}, "/url: leads to 192.168.1.1, which is no public"),
        ({"url": URL}, "/url: is an address that a webhook of this member has already"),
    ],
)
def test_a_webhook_that_makes_no_sense_is_refused_by_field(webhook, given, said):
    usual = {"name": "new", "url": "https://new.example/"}

    with pytest.raises(Refused) as refused:
        add_webhook(member=webhook.member, at=NOW, **usual | given)

    assert said in str(refused.value)


def test_a_member_has_no_more_than_ten_webhooks(webhook):
    for number in range(9):
        add_webhook(member=webhook.member, name="n", url=f"{URL}/{number}", at=NOW)

    with pytest.raises(Refused, match="10 webhooks already"):
        add_webhook(member=webhook.member, name="n", url=f"{URL}/10", at=NOW)


def _refuse(*args):
    raise ConnectionRefusedError
