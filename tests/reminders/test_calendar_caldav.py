"""A real CalDAV server takes the entries of a calendar, and a real client reads them back."""

import datetime
import json
import subprocess

import pytest

from maintenance.models import Component
from tests.reminders.caldav_environment import Server, python
from tests.reminders.calendars import Clock, Club, entries, fetched

pytestmark = pytest.mark.django_db

CLIENT = "tests/reminders/caldav_client.py"


@pytest.fixture
def server(tmp_path):
    with Server(tmp_path / "store") as running:
        yield running


@pytest.fixture
def club(monkeypatch):
    return Club(Clock(monkeypatch))


@pytest.fixture
def put(server, tmp_path):
    """Put what is at an address on the server; return what the client then finds, by UID."""

    def put(address):
        file = tmp_path / "calendar.ics"
        file.write_bytes(fetched(address).content)
        done = subprocess.run(
            [python(), CLIENT, server.url, file], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return {each["uid"]: each for each in json.loads(done.stdout)}

    return put


@pytest.mark.parametrize("query", ["", "?as=todos"])
def test_the_server_gives_back_what_the_calendar_says(club, put, query):
    car = club.car("brake-fluid", "coolant", registration="HM Ü–7; „alt“, \\grau")
    Component.objects.create(vehicle=car, collection=car.collection, kind="battery")
    club.recompute(car)
    _, address = club.feed(lead_times=[30, 0])

    found = put(address + query)

    assert len(found) > 3
    for entry in entries(address + query):
        back = found.pop(str(entry["UID"]))
        day = entry.get("DTSTART") or entry.get("DUE")
        assert back["summary"] == entry["SUMMARY"]
        assert back["description"] == entry["DESCRIPTION"]
        assert back["day"] == (day.dt.isoformat() if day else None)
        assert len(back["alarms"]) == len(entry.walk("VALARM"))
    assert not found


def test_work_done_reaches_the_server_as_the_same_entry_cancelled(club, put):
    car = club.car("brake-fluid")
    _, address = club.feed(lead_times=[30])
    before = put(address)

    club.renew(Component.objects.get(vehicle=car), on=datetime.date(2026, 11, 20))
    club.recompute(car)
    after = put(address)

    assert {after[uid]["status"] for uid in before} == {"CANCELLED"}
    assert {after[uid]["sequence"] for uid in before} == {1}
    assert {each["status"] for uid, each in after.items() if uid not in before} == {"CONFIRMED"}
    assert len(after) == 2 * len(before)
