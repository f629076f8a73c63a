"""Clocks that jump, and a day that comes every four years, through a real mail server."""

import datetime

from maintenance.models import DueItem, Message, ReminderPreference
from maintenance.reminders.deliver import deliver
from maintenance.reminders.find import find_reminders
from tests import factories


def keeper_in(zone, *, due_on, **preference):
    member = factories.MemberFactory(role="keeper", collection__time_zone=zone)
    ReminderPreference.objects.create(member=member, collection=member.collection, **preference)
    car = factories.VehicleFactory(collection=member.collection, keeper=member)
    part = factories.ComponentFactory(vehicle=car)
    factories.DueItemFactory(component=part, due_on=due_on, overdue_from=_next(due_on))
    return member


def _next(day):
    return day + datetime.timedelta(1)


def run(member, begin, end, every=datetime.timedelta(hours=1)):
    """Find and send as beat would, and return the local times at which mails went out."""
    collection, at, times = member.collection, begin, []
    while at < end:
        on = at.astimezone(collection.zone).date()
        find_reminders(collection=collection, on=on, at=at)
        instant = at
        deliver(channel="email", clock=lambda now=instant: now)
        at += every
    for sent_at in Message.objects.filter(state="sent").order_by("sent_at"):
        times.append(f"{sent_at.sent_at.astimezone(collection.zone):%Y-%m-%d %H:%M %z}")
    return times


def utc(*parts):
    return datetime.datetime(*parts, tzinfo=datetime.UTC)


def test_the_digest_stays_at_eight_when_clocks_go_forward(outbox, sink):
    member = keeper_in("Europe/Lisbon", due_on=datetime.date(2027, 3, 28), lead_days=[1, 0])
    times = run(member, utc(2027, 3, 27), utc(2027, 3, 30))
    print(f"\nclocks forward on 2027-03-28: {times}; arrived {len(sink.arrived)}")
    assert times == ["2027-03-27 08:00 +0000", "2027-03-28 08:00 +0100"]
    assert len(sink.arrived) == len(set(sink.arrived)) == 2


def test_a_digest_in_the_hour_that_is_skipped_comes_an_hour_later_and_once(outbox, sink):
    member = keeper_in(
        "Europe/Lisbon",
        due_on=datetime.date(2027, 3, 28),
        lead_days=[0],
        digest_hour=1,
        quiet_from=None,
        quiet_to=None,
    )
    times = run(member, utc(2027, 3, 28), utc(2027, 3, 29))
    print(f"\n01:00 does not exist on 2027-03-28: {times}; arrived {len(sink.arrived)}")
    assert times == ["2027-03-28 02:00 +0100"]
    assert len(sink.arrived) == 1


def test_a_digest_in_the_hour_that_comes_twice_is_sent_in_the_first(outbox, sink):
    member = keeper_in(
        "Europe/Lisbon",
        due_on=datetime.date(2026, 10, 25),
        lead_days=[0],
        digest_hour=1,
        quiet_from=None,
        quiet_to=None,
    )
    times = run(member, utc(2026, 10, 24, 23), utc(2026, 10, 26))
    print(f"\n01:00 comes twice on 2026-10-25: {times}; arrived {len(sink.arrived)}")
    assert times == ["2026-10-25 01:00 +0100"]
    assert len(sink.arrived) == 1


def test_an_item_due_on_leap_day_is_told_on_leap_day_and_weekly_after(outbox, sink):
    member = keeper_in("Europe/Lisbon", due_on=datetime.date(2028, 2, 29), lead_days=[30, 0])
    by_fours = datetime.timedelta(hours=4)
    times = run(member, utc(2028, 1, 29), utc(2028, 1, 31), every=by_fours)
    times = run(member, utc(2028, 2, 29), utc(2028, 3, 15), every=by_fours)
    print(f"\ndue on 2028-02-29: {times}; arrived {len(sink.arrived)}")
    assert times == [
        "2028-01-30 08:00 +0000",
        "2028-02-29 08:00 +0000",
        "2028-03-07 08:00 +0000",
        "2028-03-14 08:00 +0000",
    ]
    assert len(sink.arrived) == len(set(sink.arrived)) == 4


def test_a_machine_that_slept_for_three_days_tells_once_on_waking(outbox, sink):
    member = keeper_in("Europe/Lisbon", due_on=datetime.date(2026, 12, 1), lead_days=[7, 6, 5, 0])
    run(member, utc(2026, 11, 22), utc(2026, 11, 23))
    times = run(member, utc(2026, 11, 26, 15), utc(2026, 11, 28))
    print(f"\nasleep from 23 to 26 November: {times}; arrived {len(sink.arrived)}")
    assert times == ["2026-11-27 08:00 +0000"]
    assert DueItem.objects.count() == 1
