import io
import json

import pytest
from django.core.management import call_command

from maintenance.models import DueItem
from maintenance.queries.today import this_instant, today_in
from maintenance.services.postponements import put_off
from maintenance.services.service_events import record_service_event
from tests.factories import ComponentFactory, VehicleFactory
from tests.services.asking import day, entry, event


@pytest.fixture
def item(db):
    """The brake fluid of a car, overdue and put off for a long time."""
    car = VehicleFactory(registration="HM 7", inspection_regime="")
    ComponentFactory(vehicle=car)
    when = {"by": None, "at": this_instant(), "today": today_in(car.collection)}
    record_service_event(vehicle=car, draft=event(entry(), on="2019-05-01"), **when)
    item = DueItem.objects.get(vehicle=car, task="renew")
    put_off(due_item=item, until=day("2099-01-01"), why="The fluid is on order.", **when)
    return item


def printed(*arguments):
    out = io.StringIO()
    call_command("due", *arguments, stdout=out)
    return out.getvalue()


def test_the_table_marks_what_was_put_off_and_says_below_until_when_and_why(item):
    lines = printed().splitlines()
    (row,) = (line for line in lines if line.startswith(f"{item.due_on}*"))
    assert "overdue" in row
    said = "* HM 7 brake-fluid, renew: put off until 2099-01-01: The fluid is on order."
    assert said in lines


def test_json_and_csv_say_so_too(item):
    (renewal,) = (each for each in json.loads(printed("--format", "json")) if each["put_off_until"])
    assert (renewal["task"], renewal["status"]) == ("renew", "overdue")
    assert "2099-01-01,The fluid is on order." in printed("--format", "csv")


def test_an_item_put_off_still_fails_the_check(item):
    with pytest.raises(SystemExit) as ended:
        printed("--check")
    assert ended.value.code == 1
