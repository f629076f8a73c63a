"""How grave a finding is and what was seen, wherever it is listed."""

import csv
import io
import json

import pytest
from django.core.management import call_command

from maintenance.queries import today as clock
from maintenance.queries.due_answers import DANGEROUS
from maintenance.services.recompute import recompute_vehicles
from tests.factories import (
    NOW,
    ComponentFactory,
    FindingFactory,
    InspectionFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db
SAID = (
    "Brake pipe (dangerous: leaking at the union): the inspection of 2026-11-01 failed it, and no "
    "repair is on record since."
)


@pytest.fixture(autouse=True)
def car(monkeypatch):
    """A car that failed by a leaking brake pipe and a torn boot."""
    monkeypatch.setattr(clock, "this_instant", lambda: NOW)
    car = VehicleFactory(registration="HM 8", inspection_regime="")
    failed = InspectionFactory(vehicle=car, result="fail", on="2026-11-01")
    for number, (kind, category, note) in enumerate(
        [("brake-pipe", "dangerous", "leaking at\nthe union"), ("ball-joint-boot", "major", "")]
    ):
        FindingFactory(
            inspection=failed,
            component=ComponentFactory(vehicle=car, kind=kind),
            category=category,
            note=note,
            sequence=number,
        )
    recompute_vehicles(vehicles=[car], on=NOW.date())
    return car


def printed(command, *arguments):
    out = io.StringIO()
    call_command(command, *arguments, stdout=out)
    return out.getvalue()


def in_one_line(text):
    return " ".join(text.split())


def test_the_table_tells_the_danger_and_what_was_seen():
    table = printed("due")
    rows = [line for line in table.splitlines() if " repair " in line]
    assert "ball-joint-boot" in rows[0] and "major" in rows[0]
    assert "brake-pipe" in rows[1] and "dangerous" in rows[1]
    assert f"HM 8: {SAID}" in in_one_line(table)
    assert "HM 8: Ball joint boot (major): the inspection of" in in_one_line(table)
    assert in_one_line(table).index(DANGEROUS) < in_one_line(table).index("Caution: Brake fluid")


def test_json_and_csv_tell_it_too():
    boot, pipe = (
        i for i in json.loads(printed("due", "--format", "json")) if i["task"] == "repair"
    )
    assert boot["component"] == "ball-joint-boot" and DANGEROUS not in boot["caution"]
    assert pipe["sentence"] == SAID and pipe["caution"].startswith(DANGEROUS)
    rows = csv.DictReader(io.StringIO(printed("due", "--format", "csv")))
    assert SAID in [row["sentence"] for row in rows]


def test_a_trip_is_told_of_it():
    trip = ("--from", "2026-12-10", "--to", "2026-12-12", "--distance", "200")
    said = in_one_line(printed("trip_check", "--vehicle", "HM 8", *trip))
    assert "brake-pipe: dangerous finding 2026-11-01 (safety)" in said
    assert SAID in said and DANGEROUS in said


def test_a_plan_of_visits_has_no_car_with_a_dangerous_finding_driven_in():
    said = in_one_line(printed("visit_plan", "--vehicle", "HM 8"))
    assert (
        f"HM 8 is not driven to a visit: have it mended where it stands, or carried. {SAID}" in said
    )
    found = json.loads(printed("visit_plan", "--vehicle", "HM 8", "--format", "json"))
    assert [text[:4] for text in found["not_to_be_driven_in"]] == ["HM 8"]
