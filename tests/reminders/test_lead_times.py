"""When an item's day comes near: which lead times tell of it, and which do not."""

import datetime

import pytest

from maintenance.models import Reminder
from tests import factories
from tests.reminders.told import NOW, TODAY, find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]


def leads(item):
    return [reminder.lead_days for reminder in item.reminders.order_by("id")]


def test_an_item_is_told_sixty_thirty_seven_and_no_days_before():
    item = item_due(70, criticality_rank=1)
    for days in range(90):
        find(item, days_later=days)
    assert leads(item) == [60, 30, 7, 0]


def test_an_item_further_off_than_any_lead_time_is_not_told_yet():
    item = item_due(61)
    find(item)
    assert leads(item) == []


def test_a_safety_item_is_told_every_week_while_it_is_overdue():
    item = item_due(0, criticality_rank=0)
    for days in range(30):
        find(item, days_later=days)
    assert leads(item) == [0, -7, -14, -21, -28]


def test_a_new_item_that_is_long_overdue_is_told_once_and_not_once_for_each_week_gone_by():
    item = item_due(-500, criticality_rank=0)
    find(item)
    assert leads(item) == [-497]


def test_a_member_may_choose_not_to_be_told_again_each_week():
    item = item_due(-20, criticality_rank=0)
    preference_of(item.vehicle.keeper, weekly_while_overdue=False)
    find(item)
    assert leads(item) == [0]


def test_a_service_that_stood_still_tells_the_nearest_lead_time_alone():
    item = item_due(6)
    find(item)
    assert leads(item) == [7]


def without_record(**about):
    """Return an item whose car has had nothing on record of it since today."""
    about = {"no_record": True, "no_record_since": TODAY, "governed_by": "no_record"} | about
    return item_due(None, **about)


def test_an_item_that_no_record_starts_is_told_once():
    item = without_record(criticality_rank=1)
    for days in range(20):
        find(item, days_later=days)
    assert [(each.due_on, each.lead_days) for each in item.reminders.all()] == [(None, 0)]


def test_a_safety_item_without_record_is_told_every_week_as_one_overdue_is():
    item = without_record(criticality_rank=0)
    for days in range(20):
        find(item, days_later=days)
    assert leads(item) == [0, -7, -14]


def test_a_safety_item_without_record_is_told_once_to_who_wants_no_weekly_reminders():
    item = without_record(criticality_rank=0)
    preference_of(item.vehicle.keeper, weekly_while_overdue=False)
    for days in range(20):
        find(item, days_later=days)
    assert leads(item) == [0]


def test_work_due_before_use_is_not_told_while_the_return_has_no_day():
    item = item_due(-10, laid_up_from=TODAY - datetime.timedelta(90))
    find(item)
    assert leads(item) == []


def test_work_due_before_use_is_told_ahead_of_the_known_return():
    back = TODAY + datetime.timedelta(20)
    item = item_due(-10, laid_up_from=TODAY - datetime.timedelta(90), expected_to=back)
    find(item)
    assert [(each.due_on, each.lead_days) for each in item.reminders.all()] == [(back, 30)]


def test_a_paper_runs_out_whether_the_car_stands_or_not():
    paper = factories.PaperFactory()
    item = item_due(
        5, governed_by="expiry", paper=paper, laid_up_from=TODAY - datetime.timedelta(90)
    )
    find(item)
    assert leads(item) == [7]


def test_a_day_that_moves_by_less_than_a_week_is_not_told_again():
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    send()
    move(item, days=-3)
    find(item, days_later=1)
    assert leads(item) == [30]


def test_a_day_that_moves_by_more_than_a_week_is_told_anew():
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    send()
    move(item, days=-8)
    find(item, days_later=1)
    assert [(each.lead_days, each.due_on) for each in item.reminders.order_by("id")] == [
        (30, TODAY + datetime.timedelta(30)),
        (30, TODAY + datetime.timedelta(22)),
    ]


def test_looking_twice_at_the_same_moment_finds_nothing_new():
    item = item_due(30)
    find(item)
    again = find(item)
    assert (again.made, again.taken_up, again.dropped) == (0, 0, 0)
    assert Reminder.objects.count() == 1


def test_the_local_day_of_the_collection_counts_and_not_that_of_utc():
    member = factories.MemberFactory(role="keeper", collection__time_zone="Pacific/Auckland")
    item = item_due(8, member=member)
    evening = NOW.replace(hour=22)
    find(item, at=evening)
    assert leads(item) == [7]


def move(item, *, days):
    item.due_on += datetime.timedelta(days)
    item.save()
