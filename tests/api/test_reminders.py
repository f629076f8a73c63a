"""Reminders over HTTP: what members see, how they choose, how they stop, what officers mend."""

from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.urls import resolve

from maintenance.models import Message, Reminder, ReminderPreference
from maintenance.reminders.lines import page_address, working_address
from maintenance.reminders.unsubscribe import unsubscribe_address
from tests import factories
from tests.api.callers import Caller, pointers
from tests.reminders.told import find, item_due

pytestmark = pytest.mark.django_db


@pytest.fixture
def told():
    """A reminder of a keeper's car."""
    item = item_due(30)
    find(item)
    return item.reminders.get()


def member_of(reminder, role):
    return factories.MemberFactory(role=role, collection=reminder.collection)


def undelivered(reminder):
    Message.objects.update(state="undelivered", last_error="550 no such mailbox")
    Reminder.objects.update(state="undelivered")
    return reminder


@pytest.mark.parametrize(
    ("role", "seen"),
    [("secretary", 1), ("technical_officer", 1), ("viewer", 0), ("keeper", 0)],
)
def test_officers_see_all_reminders_of_their_collection_and_others_their_own(told, role, seen):
    caller = Caller(member_of(told, role).account)
    assert len(caller.items("reminders")) == seen


def test_a_keeper_sees_their_own_reminder_with_its_message(told):
    (item,) = Caller(told.member.account).items("reminders")
    assert (item["lead_days"], item["state"], item["message"]["state"]) == (
        30,
        "waiting",
        "waiting",
    )


def test_an_officer_of_another_collection_sees_nothing(told):
    stranger = factories.MemberFactory(role="secretary")
    caller = Caller(stranger.account)
    assert caller.items("reminders") == []
    assert caller.get(f"reminders/{told.pk}").status_code == 404


def test_an_officer_finds_what_could_not_be_delivered_and_sends_it_again(told):
    undelivered(told)
    caller = Caller(member_of(told, "technical_officer").account)
    (item,) = caller.items("reminders", {"state": "undelivered"})
    answer = caller.post(f"reminders/{item['id']}/again", {})
    assert answer.status_code == 201
    assert answer.json()["state"] == "waiting"


def test_a_keeper_does_not_send_again(told):
    undelivered(told)
    answer = Caller(told.member.account).post(f"reminders/{told.pk}/again", {})
    assert answer.status_code == 403
    assert Reminder.objects.get().state == "undelivered"


def test_what_waits_anyway_cannot_be_sent_again(told):
    caller = Caller(member_of(told, "technical_officer").account)
    answer = caller.post(f"reminders/{told.pk}/again", {})
    assert answer.status_code == 422
    assert "only what was given up" in answer.json()["detail"]


def test_a_keeper_chooses_changes_and_forgets_how_to_be_told(told):
    caller = Caller(told.member.account)
    made = caller.post(
        "reminder-preferences", {"member": str(told.member.pk), "lead_days": [14, 0]}
    )
    assert made.status_code == 201
    path = f"reminder-preferences/{made.json()['id']}"
    changed = caller.patch(path, {"digest": "none"}, if_match=made["ETag"])
    assert (changed.json()["digest"], changed.json()["lead_days"]) == ("none", [14, 0])
    assert caller.delete(path, if_match=changed["ETag"]).status_code == 204
    assert not ReminderPreference.objects.exists()


def test_nobody_chooses_for_another(told):
    caller = Caller(member_of(told, "secretary").account)
    answer = caller.post("reminder-preferences", {"member": str(told.member.pk)})
    assert answer.status_code == 422
    assert pointers(answer) == {"/member"}


def test_a_lead_time_below_zero_is_refused_where_it_stands(told):
    caller = Caller(told.member.account)
    body = {"member": str(told.member.pk), "lead_days": [7, -1]}
    assert pointers(caller.post("reminder-preferences", body)) == {"/lead_days/1"}


def test_the_addresses_in_messages_lead_to_the_working_and_to_the_end_of_mails(told):
    """They stand as text in the messages, so only this keeps them true."""
    page = urlsplit(page_address(told.due_item)).path
    working = urlsplit(working_address(told.due_item)).path
    stop = urlsplit(unsubscribe_address(told.member_id, "email")).path
    assert resolve(page).url_name == "due-item"
    assert resolve(working).url_name == "due-items-working"
    assert resolve(stop).url_name == "unsubscribe"


@pytest.fixture
def stop(told, settings):
    settings.PUBLIC_URL = ""
    return unsubscribe_address(told.member_id, "email")


def channels(reminder):
    found = ReminderPreference.objects.filter(member=reminder.member).first()
    return found.channels if found else ["email"]


def test_one_click_stops_the_mails_without_session_cookie_or_redirect(told, stop):
    browser = Client(enforce_csrf_checks=True)
    answer = browser.post(stop, {"List-Unsubscribe": "One-Click"})
    assert answer.status_code == 200
    assert not answer.cookies
    assert channels(told) == []


def test_to_read_the_address_stops_nothing(told, stop):
    """RFC 8058, section 3.1: link checkers fetch it."""
    answer = Client().get(stop)
    assert answer.status_code == 200
    assert b'value="One-Click"' in answer.content
    assert channels(told) == ["email"]


def test_a_post_that_says_something_else_stops_nothing(told, stop):
    assert Client().post(stop, {}).status_code == 400
    assert channels(told) == ["email"]


def test_a_forged_address_is_not_found(told, stop):
    assert Client().post(stop[:-3] + "abc", {"List-Unsubscribe": "One-Click"}).status_code == 404
    assert channels(told) == ["email"]
