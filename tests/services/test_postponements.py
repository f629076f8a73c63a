"""A due item is put off: that stands beside it, and changes nothing of it."""

import datetime

import pytest

from maintenance.models import DueItem, Postponement
from maintenance.queries.due_answers import due_on_another_day
from maintenance.queries.due_items import as_dict, due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.services.evidence import withdraw
from maintenance.services.postponements import put_off
from maintenance.services.service_events import record_service_event
from tests.factories import ComponentFactory, MemberFactory, VehicleFactory
from tests.services.asking import day, entry, event, refused

PLAN = {"until": day("2026-12-24"), "why": "The fluid is on order."}


@pytest.fixture
def car(db, when):
    """A car whose fluid was renewed three years ago."""
    car = VehicleFactory()
    ComponentFactory(vehicle=car)
    record_service_event(vehicle=car, draft=event(entry(), on="2023-11-01"), **when)
    return car


@pytest.fixture
def item(car):
    return DueItem.objects.get(vehicle=car, kind="brake-fluid", task="renew")


def listed(car, today):
    return {
        item.task: as_dict(item)
        for item in with_put_offs(due_list([car], on=today).select_related("vehicle"), on=today)
        if item.kind == "brake-fluid"
    }


def test_an_item_put_off_says_so_and_keeps_its_day_and_status(car, item, when, today):
    before = listed(car, today)["renew"]
    put_off(due_item=item, **PLAN, **when)
    after = listed(car, today)["renew"]
    said = {"put_off_until": "2026-12-24", "put_off_why": PLAN["why"], "put_off_by": ""}
    assert after == before | said
    assert after["status"] == "overdue"


def test_it_is_shown_on_another_day_as_well_until_its_last(car, item, when):
    put_off(due_item=item, **PLAN, **when)
    for on, shown in (("2026-12-24", PLAN["until"]), ("2026-12-25", None)):
        items = with_put_offs(due_on_another_day([car], on=day(on)), on=day(on))
        (found,) = (each for each in items if each.key == item.key)
        assert (found.put_off and found.put_off.until) == shown


def test_it_is_past_once_the_work_is_done(car, item, when, today):
    put_off(due_item=item, **PLAN, **when)
    record_service_event(vehicle=car, draft=event(entry(), on="2026-11-24"), **when)
    assert listed(car, today)["renew"]["put_off_until"] is None


def test_an_item_is_put_off_again_by_a_record_that_supersedes(item, when):
    put_off(due_item=item, **PLAN, **when)
    later = put_off(due_item=item, until=day("2027-01-15"), why="Still on order.", **when)
    in_force = Postponement.objects.get(current=True)
    assert (in_force, in_force.supersedes.until) == (later, PLAN["until"])


def test_it_can_be_taken_back(car, item, when, today):
    made = put_off(due_item=item, **PLAN, **when)
    withdraw(record=made, reason="the fluid has come", **when)
    assert listed(car, today)["renew"]["put_off_until"] is None


def test_a_day_gone_by_or_no_reason_is_refused(item, when):
    wrong = {"until": day("2026-11-24"), "why": " "}
    assert set(refused(put_off, due_item=item, **wrong, **when)) == {"/until", "/why"}


def test_a_keeper_alone_puts_no_safety_item_off_but_an_officer_does(car, item, when):
    keeper = MemberFactory(collection=car.collection, role="keeper")
    officer = MemberFactory(collection=car.collection, role="technical_officer")
    car.keeper = keeper
    car.save()
    asked = {"due_item": item, **PLAN}
    said = refused(put_off, **asked, **when | {"by": keeper.account})
    assert "officer" in said[""]
    assert put_off(**asked, **when | {"by": officer.account}).recorded_by == officer.account


def test_a_keeper_puts_off_what_is_not_for_safety(car, when):
    ComponentFactory(vehicle=car, kind="coolant")
    record_service_event(
        vehicle=car, draft=event(entry("coolant"), on="2016-11-01", note="renewed"), **when
    )
    keeper = MemberFactory(collection=car.collection, role="keeper")
    car.keeper = keeper
    car.save()
    item = DueItem.objects.filter(vehicle=car, kind="coolant", criticality_rank__gt=0).first()
    assert put_off(due_item=item, **PLAN, **when | {"by": keeper.account}).kind == "coolant"


def test_the_days_of_many_items_are_read_at_once(car, item, today, django_assert_num_queries):
    items = list(due_list([car], on=today))
    with django_assert_num_queries(1):
        with_put_offs(items, on=today + datetime.timedelta(days=1))
