"""Webhook receivers that fail in every way, each a process of its own on loopback."""

import datetime
import functools
import os
import signal
import subprocess
import sys
import time
from urllib.parse import quote

import psycopg
import pytest
from standardwebhooks import Webhook as Verifier

from maintenance.models import Webhook, WebhookAttempt, WebhookDelivery
from maintenance.queries.today import this_instant
from maintenance.reminders.channels.webhook_deliveries import deliver_queued
from maintenance.reminders.channels.webhook_guard import NotAllowed
from maintenance.reminders.channels.webhook_request import Failed, post
from maintenance.services.webhooks import add_webhook, exchange_secret, send_again, send_test
from tests.factories import MemberFactory
from tests.faults.processes import HOST, ROOT, free_port, wait_for
from tests.faults.webhook_receiver import Receiver

TIME_LIMIT = 1.0
HELD = 60.0
"""Seconds for which the slow receivers would hold on to a caller who lets them."""
SECOND = datetime.timedelta(seconds=1)


@pytest.fixture(scope="module")
def receiver(tmp_path_factory):
    with Receiver(tmp_path_factory.mktemp("receiver")) as process:
        yield process


@pytest.fixture(autouse=True)
def loopback_allowed(settings):
    settings.WEBHOOK_ALLOWED_HOSTS = ["localhost"]


@pytest.fixture
def webhook_at(db, receiver):
    """Add a webhook at a path of the receiver; its secret is kept for the test."""
    member = MemberFactory()

    def add(path):
        webhook, secret = add_webhook(
            member=member, name=path, url=receiver.url(path), at=this_instant()
        )
        webhook.secret = secret
        return webhook

    return add


def tried(webhook, rounds=1):
    """Queue a test message and try to deliver it; return its row as it then is."""
    delivery = send_test(webhook=webhook, at=this_instant())
    for _ in range(rounds):
        WebhookDelivery.objects.filter(pk=delivery.pk, state="waiting").update(
            next_attempt_at=this_instant()
        )
        deliver_queued(clock=this_instant, send=functools.partial(post, time_limit=TIME_LIMIT))
    delivery.refresh_from_db()
    return delivery


def sent_to(receiver, delivery):
    return [
        each
        for each in receiver.received
        if each["headers"].get("webhook-id") == delivery.message_id
    ]


def posted(url, **given):
    given = {"allowed_hosts": ["localhost"], "time_limit": TIME_LIMIT} | given
    return post(url, body=b"{}", headers={"Content-Type": "application/json"}, **given)


def test_a_message_that_is_taken_arrives_once_as_the_bytes_that_were_signed(webhook_at, receiver):
    webhook = webhook_at("/status/204")

    delivery = tried(webhook, rounds=3)

    (arrived,) = sent_to(receiver, delivery)
    assert delivery.state == "taken"
    assert arrived["body"] == delivery.body
    Verifier(webhook.secret).verify(arrived["body"], arrived["headers"])


def test_while_secrets_are_exchanged_either_of_the_two_verifies(webhook_at, receiver):
    webhook = webhook_at("/status/200")
    new = exchange_secret(webhook=webhook, at=this_instant())

    (arrived,) = sent_to(receiver, tried(webhook))

    Verifier(webhook.secret).verify(arrived["body"], arrived["headers"])
    Verifier(new).verify(arrived["body"], arrived["headers"])


def test_a_receiver_that_answers_500_is_tried_again_with_the_same_identifier(webhook_at, receiver):
    delivery = tried(webhook_at("/status/500"), rounds=3)

    arrived = sent_to(receiver, delivery)
    assert (delivery.state, delivery.last_error) == ("waiting", "answers 500")
    assert len(arrived) == 3
    assert len({each["body"] for each in arrived}) == 1
    assert delivery.next_attempt_at > this_instant() - SECOND
    assert [each.status for each in delivery.attempts.all()] == [500, 500, 500]


def test_a_receiver_that_asks_for_an_hour_is_given_an_hour(webhook_at):
    delivery = tried(webhook_at("/busy/3600"))

    assert delivery.last_error == "answers 429"
    assert delivery.next_attempt_at - this_instant() > datetime.timedelta(minutes=59)


def test_a_receiver_that_names_a_date_is_left_alone_until_then(webhook_at):
    until = this_instant() + datetime.timedelta(hours=2)
    named = until.strftime("%a,_%d_%b_%Y_%H:%M:%S_GMT")

    delivery = tried(webhook_at(f"/busy/{named}"))

    assert abs(delivery.next_attempt_at - until) < 2 * SECOND


def test_a_receiver_that_asks_for_years_is_tried_again_within_a_day(webhook_at):
    delivery = tried(webhook_at("/busy/999999999"))

    assert delivery.next_attempt_at - this_instant() <= datetime.timedelta(days=1)


@pytest.mark.parametrize("path", ["/never", "/drip"])
def test_a_receiver_that_does_not_come_to_an_end_is_left_after_the_time_limit(webhook_at, path):
    began = time.monotonic()

    delivery = tried(webhook_at(path))

    took = time.monotonic() - began
    print(f"\n{path}: left after {took:.2f} s of {TIME_LIMIT} s")
    assert delivery.last_error == "does not answer in time"
    assert took < HELD / 2


def test_a_body_without_end_is_not_read(receiver):
    began = time.monotonic()

    answered = posted(receiver.url("/huge"), time_limit=HELD)

    assert answered.status == 200
    assert time.monotonic() - began < HELD / 2


@pytest.mark.parametrize("path", ["/headers", "/hangup", "/noise"])
def test_a_receiver_that_talks_nonsense_is_tried_again(webhook_at, path):
    delivery = tried(webhook_at(path))

    assert delivery.state == "waiting"
    assert delivery.last_error.startswith("breaks off")


def test_a_receiver_that_is_not_there_is_tried_again(webhook_at):
    webhook = webhook_at("/status/200")
    url = f"http://localhost:{free_port()}/"
    Webhook.objects.filter(pk=webhook.pk).update(url=url)

    delivery = tried(webhook)

    assert delivery.state == "waiting"
    assert "Connection refused" in delivery.last_error


def test_a_receiver_that_never_answers_does_not_keep_the_others_waiting(webhook_at):
    slow, quick = webhook_at("/never"), webhook_at("/status/200")
    for _ in range(20):
        send_test(webhook=slow, at=this_instant())
    waiting = send_test(webhook=quick, at=this_instant())
    began = time.monotonic()

    deliver_queued(clock=this_instant, send=functools.partial(post, time_limit=TIME_LIMIT))

    waiting.refresh_from_db()
    assert waiting.state == "taken"
    # Half of what the slow ones take one after the other.
    assert time.monotonic() - began < 20 * TIME_LIMIT / 2


@pytest.mark.parametrize("code", [307, 308])
def test_a_redirect_to_a_private_address_is_not_followed(webhook_at, receiver, code):
    inside = receiver.url("/status/200", scheme="https", host=HOST)

    delivery = tried(webhook_at(f"/redirect/{code}/{inside}"))

    assert "no public address" in delivery.last_error
    assert len(sent_to(receiver, delivery)) == 1


def test_a_redirect_to_plain_http_elsewhere_is_not_followed(webhook_at, receiver):
    inside = receiver.url("/status/200", host=HOST)

    delivery = tried(webhook_at(f"/redirect/307/{inside}"))

    assert delivery.last_error == "must begin with https://"
    assert len(sent_to(receiver, delivery)) == 1


def test_a_redirect_that_would_lose_the_message_counts_as_a_failure(webhook_at, receiver):
    """After 302 a client may ask with GET, and the message would be gone."""
    delivery = tried(webhook_at(f"/redirect/302/{receiver.url('/status/200')}"))

    assert delivery.last_error == "answers 302"
    assert len(sent_to(receiver, delivery)) == 1


def test_a_redirect_that_repeats_the_request_is_followed(webhook_at, receiver):
    delivery = tried(webhook_at(f"/redirect/307/{receiver.url('/status/200')}"))

    first, second = sent_to(receiver, delivery)
    assert delivery.state == "taken"
    assert first["body"] == second["body"]


@pytest.mark.parametrize("nowhere", ["//[", "http://[::1", "javascript:x", "/\u00fc", ""])
def test_a_redirect_to_something_that_is_no_address_is_a_failure(webhook_at, receiver, nowhere):
    delivery = tried(webhook_at(f"/redirect/307/{quote(nowhere)}"))

    assert delivery.state == "waiting"
    assert len(sent_to(receiver, delivery)) == 1


def test_redirects_that_go_round_come_to_an_end(webhook_at, receiver):
    delivery = tried(webhook_at("/round"))

    assert delivery.last_error == "redirects more than 2 times"
    assert len(sent_to(receiver, delivery)) == 3


def test_loopback_is_refused_where_no_setting_names_it(webhook_at, receiver, settings):
    webhook = webhook_at("/status/200")
    url = receiver.url("/status/200", scheme="https")
    Webhook.objects.filter(pk=webhook.pk).update(url=url)
    settings.WEBHOOK_ALLOWED_HOSTS = []

    delivery = tried(webhook)

    assert "leads to the machine of this service itself" in delivery.last_error
    assert not sent_to(receiver, delivery)


def test_a_name_is_asked_for_once_and_the_request_goes_to_the_address_found(receiver):
    """A name server that answers otherwise the second time leads nowhere else."""
    answers = iter([[HOST], ["10.0.0.1"]])
    url = receiver.url("/status/200", host="garage.example")

    answered = posted(
        url, allowed_hosts=["garage.example"], resolve=lambda host, port: next(answers)
    )

    assert answered.status == 200
    assert receiver.received[-1]["headers"]["host"] == f"garage.example:{receiver.port}"
    assert next(answers) == ["10.0.0.1"]


def test_a_name_with_one_private_address_is_not_reached_at_its_public_one(receiver):
    with pytest.raises(NotAllowed, match="10.0.0.1"):
        posted(
            "https://garage.example/",
            allowed_hosts=[],
            resolve=lambda host, port: ["93.184.215.14", "10.0.0.1"],
        )


def test_a_name_server_that_never_answers_is_left_after_the_time_limit():
    began = time.monotonic()

    with pytest.raises(Failed, match="not resolved in time"):
        posted("https://garage.example/", resolve=lambda host, port: time.sleep(HELD))

    assert time.monotonic() - began < HELD / 2


def test_a_proxy_in_the_environment_is_not_used(webhook_at, monkeypatch):
    nowhere = f"http://{HOST}:{free_port()}"
    for name in ("http_proxy", "HTTPS_PROXY", "ALL_PROXY"):
        monkeypatch.setenv(name, nowhere)

    assert tried(webhook_at("/status/200")).state == "taken"


# HTTPS


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    """A certificate for garage.example that signs itself."""
    directory = tmp_path_factory.mktemp("certificate")
    paths = directory / "certificate.pem", directory / "key.pem"
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1"),
            *("-subj", "/CN=garage.example", "-addext", "subjectAltName=DNS:garage.example"),
            *("-out", paths[0], "-keyout", paths[1]),
        ],
        check=True,
        capture_output=True,
    )
    return paths


@pytest.fixture(scope="module")
def https_receiver(tmp_path_factory, certificate):
    with Receiver(tmp_path_factory.mktemp("https"), certificate=certificate) as process:
        yield process


def test_a_certificate_that_nobody_vouches_for_is_refused(https_receiver):
    url = https_receiver.url("/status/200", scheme="https", host="garage.example")

    with pytest.raises(Failed, match="certificate"):
        posted(url, allowed_hosts=["garage.example"], resolve=lambda host, port: [HOST])

    assert not https_receiver.received


@pytest.mark.parametrize(("host", "taken"), [("garage.example", True), ("other.example", False)])
def test_a_certificate_must_name_the_host_that_was_asked_for(
    https_receiver, certificate, monkeypatch, host, taken
):
    """The connection goes to a number; the name is checked all the same."""
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate[0]))
    url = https_receiver.url("/status/200", scheme="https", host=host)
    already = len(https_receiver.received)

    try:
        posted(url, allowed_hosts=[host], resolve=lambda host, port: [HOST])
    except Failed as wrong:
        assert "certificate" in str(wrong)

    assert len(https_receiver.received) == already + taken


# Crashes


def test_a_worker_killed_after_sending_has_the_message_sent_again_under_its_identifier(
    outbox, postgres, receiver
):
    webhook, _ = add_webhook(
        member=MemberFactory(), name="slow", url=receiver.url("/never"), at=this_instant()
    )
    delivery = send_test(webhook=webhook, at=this_instant())
    worker = _worker(postgres)
    wait_for(lambda: sent_to(receiver, delivery), "the message to arrive")

    os.kill(worker.pid, signal.SIGKILL)
    worker.wait(20)
    assert deliver_queued(clock=this_instant).taken == 0  # the dead worker's lease still holds
    Webhook.objects.filter(pk=webhook.pk).update(url=receiver.url("/status/200"))
    WebhookDelivery.objects.filter(pk=delivery.pk).update(next_attempt_at=this_instant())

    assert deliver_queued(clock=this_instant).taken == 1
    arrived = sent_to(receiver, delivery)
    print(f"\narrived {len(arrived)} times under {len({delivery.message_id})} identifier")
    assert [each["body"] for each in arrived] == [delivery.body] * 2


def test_two_workers_at_once_send_each_message_once(outbox, postgres, receiver):
    webhook, _ = add_webhook(
        member=MemberFactory(), name="quick", url=receiver.url("/status/200"), at=this_instant()
    )
    deliveries = [send_test(webhook=webhook, at=this_instant()) for _ in range(40)]

    for worker in (_worker(postgres), _worker(postgres)):
        assert worker.wait(60) == 0

    counts = [len(sent_to(receiver, delivery)) for delivery in deliveries]
    failed = WebhookAttempt.objects.exclude(error="").values_list("error", flat=True)
    print(f"\n{len(counts)} messages, arrived {sum(counts)} times; failed tries: {list(failed)}")
    assert counts == [1] * 40
    assert WebhookAttempt.objects.count() == 40


def test_of_two_workers_that_claim_one_message_at_the_same_time_one_gets_it(
    outbox, postgres, receiver
):
    """The second reads the row before the first has claimed it, and claims it after."""
    webhook, _ = add_webhook(
        member=MemberFactory(), name="n", url=receiver.url("/status/200"), at=this_instant()
    )
    delivery = send_test(webhook=webhook, at=this_instant())
    with psycopg.connect(postgres.url) as first:
        first.execute(
            "UPDATE maintenance_webhookdelivery SET attempt_count = 1, next_attempt_at = %s",
            [this_instant() + datetime.timedelta(minutes=1)],
        )
        second = _worker(postgres)
        wait_for(lambda: _waits_for_a_lock(postgres), "the second worker to meet the first's lock")
        first.commit()
        assert second.wait(60) == 0

    delivery.refresh_from_db()
    assert not sent_to(receiver, delivery)
    assert delivery.attempt_count == 1


def test_a_message_sent_again_by_hand_is_the_same_to_the_byte(webhook_at, receiver):
    delivery = tried(webhook_at("/status/200"))

    send_again(delivery=delivery, at=this_instant())
    deliver_queued(clock=this_instant)

    first, second = sent_to(receiver, delivery)
    assert first["body"] == second["body"]


def _waits_for_a_lock(postgres):
    with psycopg.connect(postgres.url) as connection:
        waiting = "SELECT count(*) FROM pg_stat_activity WHERE wait_event_type = 'Lock'"
        return connection.execute(waiting).fetchone()[0] > 0


def _worker(postgres):
    """Start a process that delivers what is queued, on the tests' own cluster."""
    environment = {
        **os.environ,
        "DATABASE_URL": postgres.url,
        "WEBHOOK_ALLOWED_HOSTS": "localhost",
        "DJANGO_SETTINGS_MODULE": "deploy.settings",
    }
    return subprocess.Popen([sys.executable, "-c", _DELIVER], cwd=ROOT, env=environment)


_DELIVER = """
import django
django.setup()
from maintenance.queries.today import this_instant
from maintenance.reminders.channels.webhook_deliveries import deliver_queued
deliver_queued(clock=this_instant)
"""
