"""From work on record to a mail in the keeper's box, by `tick` alone."""

import datetime
import io

import pytest
from django.core import mail
from django.core.management import call_command

from maintenance.models import Reminder
from maintenance.services.recompute import recompute_vehicles
from tests import factories

TODAY = datetime.date(2026, 11, 25)

pytestmark = pytest.mark.django_db


@pytest.fixture
def clock(monkeypatch):
    """Sets the one clock; call it to move time on."""

    def set_to(*day_and_hour):
        instant = datetime.datetime(*day_and_hour, tzinfo=datetime.UTC)
        for module in ("maintenance.management.commands.tick", "maintenance.queries.today"):
            monkeypatch.setattr(f"{module}.this_instant", lambda: instant)

    set_to(2026, 11, 25, 9, 30)
    return set_to


@pytest.fixture
def fluid():
    """Brake fluid renewed two years ago less twenty days, on a car with a keeper."""
    member = factories.MemberFactory(role="keeper", collection__time_zone="Europe/Lisbon")
    car = factories.VehicleFactory(
        collection=member.collection, keeper=member, inspection_regime=""
    )
    part = factories.ComponentFactory(vehicle=car, kind="brake-fluid")
    done(part, on=datetime.date(2024, 12, 15), action="renew")
    done(part, on=datetime.date(2026, 10, 1), action="inspect")
    return part


def done(part, *, on, action):
    event = factories.ServiceEventFactory(vehicle=part.vehicle, on=on)
    factories.EntryFactory(event=event, component=part, action=action)
    recompute_vehicles(vehicles=[part.vehicle], on=on)


def tick():
    out = io.StringIO()
    call_command("tick", stdout=out)
    return out.getvalue()


def test_a_keeper_is_mailed_once_that_the_brake_fluid_falls_due(fluid, clock, settings):
    settings.EMAIL_URL = "smtp://127.0.0.1"
    tick()
    clock(2026, 11, 26, 8, 0)
    tick(), tick()
    registration = fluid.vehicle.registration
    assert [each.subject for each in mail.outbox] == [
        f"{registration}: brake fluid renewal due 15 December 2026, in 19 days"
    ]


def test_brake_fluid_renewed_before_the_digest_goes_out_is_not_mentioned(fluid, clock, settings):
    settings.EMAIL_URL = "smtp://127.0.0.1"
    tick()
    done(fluid, on=TODAY, action="renew")
    clock(2026, 11, 26, 8, 0)
    tick()
    assert mail.outbox == []
    assert Reminder.objects.get().reason == ("The due day moved from 2026-12-15 to 2028-11-25.")


def test_without_a_mail_server_everything_waits_and_tick_says_what_to_set(fluid, clock, settings):
    settings.EMAIL_URL = ""
    tick()
    clock(2026, 11, 26, 8, 0)
    said = tick()
    assert "email: 1 messages wait, not set up; set EMAIL_URL" in said
    assert Reminder.objects.get().state == "waiting"


def test_the_first_tick_of_a_day_computes_the_collection_and_the_second_does_not(fluid, clock):
    first, second = tick(), tick()
    assert "computed for the day" in first
    assert "computed for the day" not in second
