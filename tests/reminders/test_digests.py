"""Digests and quiet hours, in the member's own time zone."""

import datetime

import pytest
from django.core import mail

from maintenance.models import Message
from tests import factories
from tests.reminders.told import NOW, find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]


def utc(day, hour, minute=0):
    return datetime.datetime(2026, 11, day, hour, minute, tzinfo=datetime.UTC)


def goes_out(item):
    return item.reminders.get().message.not_before


def test_by_default_reminders_of_a_day_come_together_at_eight_the_next_morning():
    first = item_due(30)
    item_due(7, member=first.vehicle.keeper)
    find(first)
    send(at=utc(26, 8))
    assert goes_out(first) == utc(26, 8)
    assert len(mail.outbox) == 1
    assert mail.outbox[0].subject.endswith("in 6 days, and 1 more")


def test_a_digest_comes_at_the_hour_of_the_member_and_not_of_the_club():
    item = item_due(30)
    preference_of(item.vehicle.keeper, digest="daily", digest_hour=18, time_zone="America/St_Johns")
    find(item)
    assert goes_out(item) == utc(25, 21, 30)


def test_a_weekly_digest_comes_on_its_weekday():
    item = item_due(30, criticality_rank=1)
    preference_of(item.vehicle.keeper, digest="weekly", digest_weekday=1)
    find(item)
    assert goes_out(item) == utc(30, 8)


def test_a_weekly_digest_does_not_hold_back_a_safety_item_that_is_due_before_it():
    item = item_due(4, criticality_rank=0)
    preference_of(item.vehicle.keeper, digest="weekly", digest_weekday=1)
    find(item)
    assert goes_out(item) == utc(26, 8)


def test_the_gravest_item_of_a_digest_stands_first():
    paint = item_due(10, criticality_rank=2, kind="paintwork")
    item_due(20, member=paint.vehicle.keeper, criticality_rank=0, kind="tyre")
    find(paint)
    send(at=utc(26, 8))
    assert "tyre" in mail.outbox[0].subject.lower()


def test_nothing_goes_out_in_quiet_hours():
    item = item_due(30)
    preference_of(item.vehicle.keeper, quiet_from=datetime.time(21), quiet_to=datetime.time(7))
    find(item, at=utc(25, 22))
    assert goes_out(item) == utc(26, 7)


def test_what_an_outage_held_up_until_the_night_waits_for_the_morning():
    item = item_due(30)
    preference_of(item.vehicle.keeper, quiet_from=datetime.time(21), quiet_to=datetime.time(7))
    find(item, at=NOW)
    send(at=utc(25, 23))
    assert mail.outbox == []
    assert Message.objects.get().next_at == utc(26, 7)
    assert Message.objects.get().attempts == 0


def test_quiet_hours_by_day_are_kept_as_well():
    item = item_due(30)
    preference_of(item.vehicle.keeper, quiet_from=datetime.time(9), quiet_to=datetime.time(17))
    find(item, at=NOW)
    assert goes_out(item) == utc(25, 17)


def test_what_is_found_later_joins_the_digest_that_has_not_gone_out():
    first = item_due(30)
    find(first, at=utc(25, 9))
    second = item_due(40, member=first.vehicle.keeper)
    find(second, at=utc(25, 20))
    assert first.reminders.get().message_id == second.reminders.get().message_id
    send(at=utc(26, 8))
    assert len(mail.outbox) == 1


def test_a_digest_in_which_all_work_was_done_is_not_sent():
    item = item_due(30)
    find(item)
    item.delete()
    send(at=utc(26, 8))
    assert mail.outbox == []
    assert Message.objects.get().state == "dropped"


def test_a_digest_that_was_emptied_takes_up_what_is_due_again():
    member = factories.MemberFactory(role="keeper")
    item = item_due(30, member=member)
    find(item, at=utc(25, 9))
    item.due_on += datetime.timedelta(400)
    item.save()
    find(item, at=utc(25, 10))
    item.due_on -= datetime.timedelta(400)
    item.save()
    find(item, at=utc(25, 11))
    send(at=utc(26, 8))
    assert len(mail.outbox) == 1
