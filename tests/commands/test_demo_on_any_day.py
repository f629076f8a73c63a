"""The demonstration moves with the calendar: whenever it is loaded, it shows everything."""

import datetime

import pytest

from maintenance.management.demonstration import TOLD_ON, told_on
from maintenance.models import DueItem, Vehicle
from maintenance.queries.due_items import due_list
from tests.commands.test_demo import run_demo

pytestmark = pytest.mark.django_db

#: A leap day and the height of a summer.
DAYS = [datetime.date(2028, 2, 29), datetime.date(2031, 7, 15)]


@pytest.mark.parametrize("today", DAYS, ids=str)
def test_loaded_on_another_day_the_club_shows_every_status_and_criterion(today):
    run_demo(datetime.datetime.combine(today, datetime.time(12), datetime.UTC))
    items = list(due_list(Vehicle.objects.all(), on=today))
    shown = {item.status for item in items}, {item.governed_by for item in items}
    assert shown == (set(DueItem.Status.values), set(DueItem.GovernedBy.values))


def moved(days, **event):
    document = {
        "collection": {"name": "None like it"},
        "vehicles": [{"registration": "VY-1", "built_on": "1960-01-31", "service_events": [event]}],
    }
    (car,) = told_on(document, today=TOLD_ON + datetime.timedelta(days))["vehicles"]
    return car["service_events"][0]


def test_a_day_moves_by_as_many_days_as_have_passed():
    assert moved(40, on="2026-01-20") == {"on": "2026-03-01"}


def test_a_day_known_only_as_a_year_stays_as_vague_and_moves_with_its_middle():
    assert [moved(days, on="2011")["on"] for days in (100, 200)] == ["2011", "2012"]


def test_a_day_known_only_as_a_month_stays_as_vague_and_moves_with_its_middle():
    assert [moved(days, on="2013-06")["on"] for days in (10, 20)] == ["2013-06", "2013-07"]


def test_what_is_stamped_on_a_part_does_not_move():
    part = {"date_code": "3208", "manufactured": "2020-W46"}
    assert moved(400, on="2021-05-29", entries=[part])["entries"] == [part]
