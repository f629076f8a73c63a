"""Work recorded or days moved before a reminder goes out: it is dropped or replaced, and why."""

import datetime

import pytest
from django.core import mail

from maintenance.models import Message
from maintenance.services.postponements import put_off
from tests import factories
from tests.reminders.told import NOW, TODAY, find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]


@pytest.fixture
def waiting():
    """An item due in thirty days whose reminder has been found and waits."""
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    return item.reminders.get()


def reason(reminder):
    reminder.refresh_from_db()
    return reminder.state, reminder.reason


def test_work_done_before_sending_drops_the_reminder(waiting):
    waiting.due_item.delete()
    send()
    assert mail.outbox == []
    assert reason(waiting) == ("dropped", "The work is recorded or no longer asked for.")
    assert Message.objects.get().state == "dropped"


def test_a_day_that_moves_before_sending_replaces_the_reminder(waiting):
    item = waiting.due_item
    item.due_on = TODAY + datetime.timedelta(25)
    item.save()
    find(item)
    send()
    assert reason(waiting) == ("dropped", "The due day moved from 2026-12-25 to 2026-12-20.")
    assert [each.subject for each in mail.outbox] == [
        f"{item.vehicle.registration}: brake fluid renewal due 20 December 2026, in 25 days"
    ]


def test_a_day_that_moves_away_and_back_takes_the_reminder_up_again(waiting):
    item = waiting.due_item
    item.due_on = TODAY + datetime.timedelta(400)
    item.save()
    find(item)
    item.due_on = TODAY + datetime.timedelta(30)
    item.save()
    assert find(item).taken_up == 1
    send()
    assert reason(waiting) == ("sent", "")


def test_a_car_that_changes_hands_is_told_to_its_new_keeper_alone(waiting):
    car = waiting.vehicle
    car.keeper = factories.MemberFactory(role="keeper", collection=car.collection)
    car.save()
    preference_of(car.keeper)
    find(waiting.due_item)
    send()
    assert reason(waiting) == ("dropped", "The member is no longer told of this car.")
    assert [each.to for each in mail.outbox] == [[car.keeper.account.email]]


def test_a_member_whose_account_is_closed_is_told_no_more(waiting):
    account = waiting.member.account
    account.is_active = False
    account.save()
    send()
    assert mail.outbox == []
    assert reason(waiting)[0] == "dropped"


def test_a_reminder_held_up_past_the_next_lead_time_gives_way_to_it(waiting):
    find(waiting.due_item, days_later=24)
    send(days_later=24)
    assert reason(waiting) == ("dropped", "Replaced by a later reminder of the same day.")
    assert [each.subject[-9:] for each in mail.outbox] == ["in 6 days"]


def test_a_lay_up_begun_before_sending_drops_what_is_due_before_use(waiting):
    item = waiting.due_item
    item.laid_up_from, item.before_use_from = TODAY, TODAY
    item.save()
    send()
    assert reason(waiting) == ("dropped", "The car is laid up, and its return has no known day.")


def test_a_member_who_leaves_takes_their_reminders_with_them(waiting):
    waiting.member.delete()
    send()
    assert mail.outbox == []
    assert Message.objects.count() == 0


def test_an_item_put_off_is_not_told_until_that_day_has_passed(waiting):
    waiting.due_item.criticality_rank = 1
    waiting.due_item.save()
    put_off(
        due_item=waiting.due_item,
        until=TODAY + datetime.timedelta(25),
        why="The fluid is on order.",
        by=waiting.member.account,
        at=NOW,
        today=TODAY,
    )
    find(waiting.due_item)
    assert reason(waiting) == ("dropped", "The item is put off until 2026-12-20.")
    assert find(waiting.due_item, days_later=24).made == 0
    assert find(waiting.due_item, days_later=26).made == 1
