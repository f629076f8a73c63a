"""A club whose members subscribe to calendars, and a clock that the tests set."""

import datetime
import types

from django.test import Client
from icalendar import Calendar

from maintenance.queries import today as clock_module
from maintenance.services.calendar_feeds import issue_feed
from maintenance.services.recompute import recompute_vehicles
from tests.factories import (
    CollectionFactory,
    ComponentFactory,
    EntryFactory,
    MemberFactory,
    VehicleFactory,
)

START = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)


class Clock:
    """Stands in for the one reader of the clock."""

    def __init__(self, monkeypatch):
        self.instant = START
        clock = self

        class Stopped(datetime.datetime):
            @classmethod
            def now(cls, tz=None):
                return clock.instant.astimezone(tz)

        stopped = types.SimpleNamespace(datetime=Stopped, date=datetime.date, UTC=datetime.UTC)
        monkeypatch.setattr(clock_module, "datetime", stopped)

    def advance(self, **by):
        self.instant += datetime.timedelta(**by)

    @property
    def today(self):
        return self.instant.date()


class Club:
    """One collection with a secretary; cars are added as a test needs them."""

    def __init__(self, clock):
        self.clock = clock
        self.collection = CollectionFactory()
        self.secretary = self.member("secretary")

    def member(self, role):
        return MemberFactory(collection=self.collection, role=role)

    def car(self, *kinds, **about):
        """Add a car with parts, all renewed on 15 January 2025, and work out what falls due."""
        car = VehicleFactory(collection=self.collection, inspection_regime="", **about)
        for kind in kinds:
            self.renew(ComponentFactory(vehicle=car, kind=kind), on=datetime.date(2025, 1, 15))
        self.recompute(car)
        return car

    def renew(self, component, *, on):
        event = {"event__vehicle": component.vehicle, "event__on": on}
        return EntryFactory(component=component, action="renew", **event)

    def recompute(self, car):
        recompute_vehicles(vehicles=[car], on=self.clock.today)

    def feed(self, member=None, **given):
        """Issue a feed; return its row and its address."""
        given = {"name": "What falls due", "scope": "collection", "lead_times": []} | given
        feed, secret = issue_feed(
            member=member or self.secretary,
            given=given,
            at=self.clock.instant,
            today=self.clock.today,
        )
        return feed, f"/api/calendar/{secret}.ics"


def fetched(address, **headers):
    """Fetch a calendar as a calendar program does: without token or cookie."""
    answer = Client().get(address, headers=headers)
    assert answer.status_code == 200, answer.content
    return answer


def entries(address):
    """Return the events and to-dos at an address, as the icalendar library reads them."""
    calendar = Calendar.from_ical(fetched(address).content)
    return [each for each in calendar.subcomponents if each.name in ("VEVENT", "VTODO")]
