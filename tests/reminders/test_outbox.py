"""Claims, leases, retries and giving up."""

import datetime
import smtplib

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from hypothesis import given
from hypothesis import strategies as st

from maintenance.models import Message, Reminder
from maintenance.reminders import back_off, outbox
from tests.reminders.told import NOW, find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]

LATER = NOW + datetime.timedelta(minutes=20)


@pytest.fixture
def message():
    """A message that is ready now."""
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    return Message.objects.get()


@pytest.fixture
def refused(monkeypatch):
    """Has the mail server raise what is asked of it."""

    def refuse(error):
        def send_messages(self, messages):
            raise error

        monkeypatch.setattr(EmailBackend, "send_messages", send_messages)

    return refuse


def claim(at=NOW):
    return outbox.claim(channel="email", due_by=at, at=at, limit=10)


def test_a_claimed_message_is_nobody_elses_until_its_lease_has_run_out(message):
    (mine,) = claim()
    assert claim() == []
    assert [each.pk for each in claim(LATER)] == [mine.pk]


def test_a_worker_that_comes_back_after_its_lease_may_not_send(message):
    (mine,) = claim()
    claim(LATER)
    assert outbox.hand_over(mine, at=LATER) is False


def test_a_worker_that_comes_back_late_does_not_settle_what_another_has(message):
    (mine,) = claim()
    (others,) = claim(LATER)
    assert outbox.settle_sent(mine, reminders=[], at=LATER) is False
    assert Message.objects.get().claim == others.claim


def test_a_message_left_after_it_was_handed_over_is_noted_as_perhaps_arrived(message):
    (mine,) = claim()
    outbox.hand_over(mine, at=NOW)
    (again,) = claim(LATER)
    assert (again.unknown_outcomes, again.attempts) == (1, 1)


def test_a_message_left_before_it_was_handed_over_has_certainly_not_arrived(message):
    claim()
    (again,) = claim(LATER)
    assert (again.unknown_outcomes, again.attempts) == (0, 0)


def test_a_refusal_for_now_is_tried_again_and_told_with_its_words(message, refused):
    refused(smtplib.SMTPDataError(451, b"try again"))
    send()
    message.refresh_from_db()
    assert (message.state, message.failures, message.last_error) == (
        "waiting",
        1,
        "451 try again",
    )
    assert NOW <= message.next_at <= NOW + datetime.timedelta(minutes=1)


def test_a_refusal_for_good_is_not_tried_again(message, refused):
    box = message.member.account.email
    refused(smtplib.SMTPRecipientsRefused({box: (550, f"no {box} here".encode())}))
    send()
    message.refresh_from_db()
    assert (message.state, message.last_error) == ("undelivered", "550 no <address> here")
    assert Reminder.objects.get().state == "undelivered"


def test_a_refused_sender_is_put_right_by_the_service_and_not_the_members_loss(message, refused):
    refused(smtplib.SMTPSenderRefused(530, b"sign in first", "idle-years@localhost"))
    send()
    message.refresh_from_db()
    assert message.state == "waiting"


def test_a_connection_that_breaks_off_may_have_delivered(message, refused):
    refused(smtplib.SMTPServerDisconnected("gone"))
    send()
    message.refresh_from_db()
    assert (message.state, message.unknown_outcomes) == ("waiting", 1)


def test_a_message_that_cannot_be_written_does_not_keep_back_the_others(message, monkeypatch):
    other = item_due(30)
    preference_of(other.vehicle.keeper)
    find(other)
    monkeypatch.setattr(
        "maintenance.reminders.channels.email.subject_of",
        lambda lines: 1 / 0 if lines[0].reminder.message_id == message.pk else "a subject",
    )
    done = send()
    assert (done.sent, done.failed) == (1, 1)
    message.refresh_from_db()
    assert message.last_error == "ZeroDivisionError"


def test_after_five_days_of_failures_a_message_is_given_up(message, refused):
    refused(smtplib.SMTPDataError(451, b"try again"))
    send()
    Message.objects.update(next_at=NOW)
    send(days_later=5)
    message.refresh_from_db()
    assert message.state == "undelivered"


def test_after_four_days_of_failures_a_message_is_still_tried(message, refused):
    refused(smtplib.SMTPDataError(451, b"try again"))
    send()
    Message.objects.update(next_at=NOW)
    send(days_later=4)
    message.refresh_from_db()
    assert message.state == "waiting"


def test_a_member_without_an_address_is_shown_to_the_officer(message):
    account = message.member.account
    account.email = ""
    account.save()
    send()
    message.refresh_from_db()
    assert message.state == "undelivered"
    assert message.last_error == "The member's account has no e-mail address."


def test_an_undelivered_message_sent_again_has_five_days_anew(message, refused):
    refused(smtplib.SMTPDataError(554, b"not wanted"))
    send()
    message.refresh_from_db()
    assert outbox.resend(message, at=LATER) is True
    message.refresh_from_db()
    assert (message.state, message.first_tried_at, message.next_at) == ("waiting", None, LATER)


def test_a_message_that_was_sent_cannot_be_sent_again(message):
    send()
    message.refresh_from_db()
    assert outbox.resend(message, at=LATER) is False
    assert len(mail.outbox) == 1


@given(failures=st.integers(1, 10_000))
def test_the_wait_lies_between_nothing_and_four_hours(failures):
    wait = back_off.wait(failures)
    assert datetime.timedelta() <= wait <= back_off.bound(failures) <= back_off.LAST_BOUND


def test_the_longest_wait_doubles_from_a_minute():
    minutes = [back_off.bound(failures).total_seconds() / 60 for failures in range(1, 10)]
    assert minutes == [1, 2, 4, 8, 16, 32, 64, 128, 240]
