"""Calendars as read by libraries that other programs use, none of which wrote them."""

import datetime

import pytest
import recurring_ical_events
import vobject
from ical.calendar_stream import IcsCalendarStream
from icalendar import Calendar

from maintenance.models import Component
from tests.factories import NOW
from tests.reminders.calendars import Clock, Club, fetched

pytestmark = pytest.mark.django_db

NAME = "HM Ü–7"
DAY = datetime.date(2027, 1, 15)


@pytest.fixture
def address(monkeypatch):
    """A calendar with an event to come, a cancelled one, and a part without any record."""
    club = Club(Clock(monkeypatch))
    car = club.car("brake-fluid", "coolant", registration=NAME)
    Component.objects.create(vehicle=car, collection=car.collection, kind="battery")
    club.recompute(car)
    _, address = club.feed(lead_times=[30, 0])
    coolant = Component.objects.get(vehicle=car, kind="coolant")
    club.renew(coolant, on=datetime.date(2026, 11, 20))
    club.recompute(car)
    return address


def test_ical_reads_the_events(address):
    calendar = IcsCalendarStream.calendar_from_ics(fetched(address).content.decode())

    (event,) = [each for each in calendar.events if each.summary == f"{NAME}: brake fluid renewal"]
    assert (event.start, event.end) == (DAY, DAY + datetime.timedelta(days=1))
    assert [alarm.trigger for alarm in event.alarm] == [
        datetime.timedelta(days=-30, hours=9),
        datetime.timedelta(hours=9),
    ]
    assert "CANCELLED" in [each.status.value for each in calendar.events]


def test_ical_reads_the_todos(address):
    text = fetched(f"{address}?as=todos").content.decode()
    calendar = IcsCalendarStream.calendar_from_ics(text)

    (todo,) = [each for each in calendar.todos if each.summary == f"{NAME}: brake fluid renewal"]
    assert todo.due == DAY
    assert NOW.date() in [each.due for each in calendar.todos]


def test_vobject_reads_the_events_and_finds_nothing_missing(address):
    calendar = vobject.readOne(fetched(address).content.decode())

    calendar.validate(raiseException=True)
    (event,) = [
        each
        for each in calendar.vevent_list
        if each.summary.value == f"{NAME}: brake fluid renewal"
    ]
    assert event.dtstart.value == DAY
    assert [alarm.trigger.value for alarm in event.valarm_list] == [
        datetime.timedelta(days=-30, hours=9),
        datetime.timedelta(hours=9),
    ]


def test_vobject_reads_the_todos_and_finds_nothing_missing(address):
    calendar = vobject.readOne(fetched(f"{address}?as=todos").content.decode())

    calendar.validate(raiseException=True)
    assert DAY in [each.due.value for each in calendar.vtodo_list if hasattr(each, "due")]


def test_a_month_of_the_calendar_shows_what_falls_due_in_it(address):
    calendar = Calendar.from_ical(fetched(address).content)

    january = [
        event
        for event in recurring_ical_events.of(calendar).between((2027, 1, 1), (2027, 2, 1))
        if event["STATUS"] != "CANCELLED"
    ]

    assert [str(event["SUMMARY"]) for event in january] == [f"{NAME}: brake fluid renewal"]


@pytest.mark.parametrize("query", ["", "?as=todos"])
def test_an_empty_calendar_is_read_as_one(monkeypatch, query):
    _, address = Club(Clock(monkeypatch)).feed()
    text = fetched(address + query).content.decode()

    calendar = IcsCalendarStream.calendar_from_ics(text)

    assert not calendar.events and not calendar.todos
    vobject.readOne(text).validate(raiseException=True)
