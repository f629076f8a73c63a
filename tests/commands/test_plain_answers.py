"""What commands answer where there is little to say, and how they end."""

import datetime
import io
import os
import subprocess
import sys

import pytest
from django.core.checks import run_checks
from django.core.management import CommandError, call_command

from maintenance.models import ReminderPreference
from maintenance.queries import today as clock
from tests.factories import NOW, VehicleFactory

OLD = datetime.date(1970, 5, 1)


@pytest.fixture
def stopped(monkeypatch, db):
    monkeypatch.setattr(clock, "this_instant", lambda: NOW)


def working(car):
    out = io.StringIO()
    asked = {"vehicle": car.registration, "component": "roadworthiness-inspection"}
    call_command("working", **asked, stdout=out)
    return " ".join(out.getvalue().split())


def test_an_exempt_car_is_said_to_be_exempt_and_why(stopped):
    car = VehicleFactory(
        inspection_regime="gb", first_registered_on=OLD, built_on=OLD, substantially_changed=False
    )
    with pytest.raises(CommandError, match="exempt from 2010-05-01 on, 480 months after") as told:
        working(car)
    assert "not substantially changed" in str(told.value)


def test_a_car_of_no_regime_is_said_to_have_none(stopped):
    with pytest.raises(CommandError, match="names no inspection regime"):
        working(VehicleFactory(inspection_regime=""))


def test_an_exemption_that_waits_for_the_keepers_word_names_it(stopped):
    said = {"inspection_regime": "gb", "first_registered_on": OLD, "built_on": OLD}
    car = VehicleFactory(**said, substantially_changed=None)
    call_command("recompute")
    assert "that waits for `substantially_changed`, which the record" in working(car)
    changed = VehicleFactory(**said, substantially_changed=True)
    assert "waits for" not in working(changed)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--months", "0"), "--months: 0 is out of range"),
        (("--rate", "-1"), "--rate: "),
        (("--currency", "euro"), "--currency: "),
    ],
)
def test_terms_of_visits_are_refused_by_their_option(stopped, arguments, said):
    car = VehicleFactory(registration="HM 1", inspection_regime="")
    with pytest.raises(CommandError) as refused:
        call_command("visit_plan", "--vehicle", car.registration, *arguments)
    assert str(refused.value).startswith(said)


def test_a_reader_that_had_enough_ends_a_command_without_a_word():
    reading, writing = os.pipe()
    os.close(reading)
    environment = os.environ | {"SECRET_KEY": "x", "DATABASE_URL": "sqlite://:memory:"}
    ended = subprocess.run(
        [sys.executable, "manage.py", "diffsettings", "--all"],
        stdout=writing, stderr=subprocess.PIPE, env=environment, timeout=60, check=False,
    )  # fmt: skip
    os.close(writing)
    assert (ended.stderr, ended.returncode) == (b"", 141)


@pytest.mark.parametrize("field", ["quiet_from", "quiet_to"])
def test_no_hour_of_the_day_makes_the_checks_warn_of_quiet_hours(monkeypatch, field):
    default = ReminderPreference._meta.get_field(field).default
    noon = datetime.datetime.combine(NOW.date(), default, datetime.UTC)
    monkeypatch.setattr("django.utils.timezone.now", lambda: noon)
    assert [each.id for each in run_checks() if not each.is_silenced()] == []
