"""A calendar of two thousand items costs one query and no writing of entries."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.models import CalendarEntry
from tests.reminders.calendars import Clock, Club, fetched

ITEMS = 2000

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(monkeypatch):
    """A calendar with alarms whose every entry is a copy of one that the service wrote."""
    club = Club(Clock(monkeypatch))
    car = club.car("brake-fluid")
    _, address = club.feed(lead_times=[60, 30, 7, 0])
    one = CalendarEntry.objects.filter(vehicle=car).last()
    CalendarEntry.objects.bulk_create(
        CalendarEntry(
            collection=one.collection,
            vehicle=car,
            key=f"rule:{number}",
            criticality=one.criticality,
            content=one.content,
            first_shown_at=one.first_shown_at,
            changed_at=one.changed_at,
            event=one.event,
            todo=one.todo,
            alarm=one.alarm,
        )
        for number in range(ITEMS)
    )
    fetched(address)
    return address


def test_two_thousand_items_are_read_in_a_single_query(address):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        content = fetched(address).content

    read = [query for query in queries if "calendarentry" in query["sql"]]
    assert content.count(b"BEGIN:VEVENT") > ITEMS
    assert len(read) == 1
    # The other one finds the feed by its address.
    assert len(queries) == 2


def test_entries_are_joined_as_they_stand_and_not_written_anew(address):
    stored = CalendarEntry.objects.get(key="rule:7")
    marked = stored.event.replace("\r\n", "\r\nX-AS-IT-STANDS:yes\r\n", 1)
    CalendarEntry.objects.filter(pk=stored.pk).update(event=marked)

    content = fetched(address).content.decode()

    assert content.count("X-AS-IT-STANDS:yes") == 1
    # The alarms of each subscriber go in before the end of the entry.
    assert marked.removesuffix("END:VEVENT\r\n") in content
