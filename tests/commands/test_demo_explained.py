"""Everything asked of every car of the demonstration is answered, and its derivations hold."""

import datetime
import io
import re
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import transaction

from maintenance.engine.working import explain
from maintenance.engine.working.lines import Line
from maintenance.management import demonstration
from maintenance.management.commands import demo
from maintenance.models import Component, DueItem, Vehicle
from maintenance.queries import today as clock
from maintenance.queries.due_answers import Answers
from maintenance.services.condition import condition_of
from maintenance.services.pictures import years_of
from tests.engine.reckoning import disagreements

TODAY = demonstration.TOLD_ON
NOON = datetime.datetime.combine(TODAY, datetime.time(12), datetime.UTC)


@pytest.fixture(scope="module", autouse=True)
def loaded(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(demo, "this_instant", lambda: NOON)
            patch.setattr(clock, "this_instant", lambda: NOON)
            call_command("demo", stdout=io.StringIO())
            yield
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def as_loaded(loaded, db):
    """Each test sees the demonstration as it was loaded."""


def said(command, **options):
    out = io.StringIO()
    call_command(command, stdout=out, **options)
    return out.getvalue()


def marks():
    return list(Vehicle.objects.order_by("registration").values_list("registration", flat=True))


def test_every_line_of_every_derivation_can_be_worked_out_again():
    answers = Answers(Vehicle.objects.order_by("id"), on=TODAY)
    rows = range(answers.answer.due.size)
    criteria = [
        one for row in rows for one in explain(answers.answer, row, subject="Part").criteria
    ]
    assert len(criteria) > DueItem.objects.count() > 100
    assert [wrong for one in criteria for wrong in disagreements(one.lines)] == []


def test_every_estimate_has_a_band_or_a_reason():
    answers = Answers(Vehicle.objects.order_by("id"), on=TODAY)
    estimates = [
        one for each in Component.objects.order_by("id") for one in condition_of(answers, each)
    ]
    assert len(estimates) > 50
    assert all((one["central"] is None) == bool(one["reason"]) for one in estimates)
    lines = [[Line(**each) for each in plain(one["lines"])] for one in estimates]
    assert sum(map(len, lines)) > 200
    assert [wrong for each in lines for wrong in disagreements(each)] == []


def plain(lines):
    """Lines as the estimates hand them over, their figures exact again."""
    for line in lines:
        line = {name: value for name, value in line.items() if name != "shown"}
        if isinstance(line["value"], float):
            line["value"] = Decimal(str(line["value"]))
        yield line


def test_a_trip_and_a_plan_of_every_car_promise_nothing():
    for mark in marks():
        trip = said(
            "trip_check", vehicle=mark, from_on=TODAY, to_on=TODAY + datetime.timedelta(days=9),
            distance=Decimal(500), country=["FR"],
        )  # fmt: skip
        plan = said("project", vehicle=mark, months=24)
        assert not re.search(r"\bsafe(ly)?\b", trip + plan, re.IGNORECASE)


def test_a_projection_prints_the_band_by_months():
    plans = [said("project", vehicle=mark, months=60) for mark in marks()]
    assert all("80 % band" in plan for plan in plans)
    assert any(re.search(r"\d{4}-\d\d-\d\d\.\.(\d{4}-\d\d-\d\d|later)", plan) for plan in plans)


def test_the_years_of_every_car_are_drawn():
    assert all("</svg>" in years_of(vehicle=car, on=TODAY) for car in Vehicle.objects.all())
