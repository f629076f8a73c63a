"""Storage care beside the ordinary work on the same part."""

import io

import pytest
from django.core.management import call_command

from maintenance.queries import today as clock
from maintenance.services.recompute import recompute_vehicles
from tests.factories import NOW, ComponentFactory, LayUpFactory, VehicleFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("command", ["due", "project"])
def test_the_look_at_a_tyre_in_store_is_told_from_the_look_before_use(monkeypatch, command):
    monkeypatch.setattr(clock, "this_instant", lambda: NOW)
    car = VehicleFactory(registration="HM 9", inspection_regime="")
    LayUpFactory(vehicle=car, from_on="2026-01-01", to_on=None)
    ComponentFactory(vehicle=car, kind="tyre", position="front left")
    recompute_vehicles(vehicles=[car], on=NOW.date())
    out = io.StringIO()
    call_command(command, vehicle="HM 9", stdout=out)
    looks = [line for line in out.getvalue().splitlines() if "tyre" in line and "inspect" in line]
    assert sorted("tyre front left (in store)" in line for line in looks) == [False, True]
