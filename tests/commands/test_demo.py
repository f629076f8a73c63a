"""The demonstration as it is loaded on the day on which its file tells the truth."""

import datetime
import io
import json
import re

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from maintenance.management import demonstration
from maintenance.management.commands import demo
from maintenance.models import (
    AccessToken,
    Account,
    Collection,
    DueItem,
    Entry,
    LayUp,
    Member,
    OdometerReading,
    Vehicle,
)
from maintenance.queries import today as clock
from maintenance.queries.access import sight_of
from maintenance.queries.due_items import due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.services.tokens import token_account

NOON = datetime.datetime.combine(demonstration.TOLD_ON, datetime.time(12), datetime.UTC)


def run_demo(now, **options):
    """Run the command at an instant and return what it prints."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "this_instant", lambda: now)
        patch.setattr(clock, "this_instant", lambda: now)
        out = io.StringIO()
        call_command("demo", stdout=out, **options)
    return out.getvalue()


def told(printed, label):
    return re.search(rf"^{label} +(\S+)", printed, re.MULTILINE)[1]


def records():
    return [model.objects.count() for model in (Vehicle, Entry, LayUp, OdometerReading, Member)]


@pytest.fixture(scope="module")
def printed(django_db_setup, django_db_blocker):
    # Loaded once for the module and taken back at its end: ten years of twelve cars take seconds.
    with django_db_blocker.unblock(), transaction.atomic():
        yield run_demo(NOON, address="http://127.0.0.1:8123")
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def as_loaded(printed):
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def due(registration, **having):
    cars = Vehicle.objects.filter(registration=registration)
    return list(due_list(cars, on=demonstration.TOLD_ON).filter(**having))


def test_the_club_shows_every_status():
    items = due_list(Vehicle.objects.all(), on=demonstration.TOLD_ON)
    assert {item.status for item in items} == set(DueItem.Status.values)


def test_the_club_shows_every_governing_criterion():
    shown = set(DueItem.objects.values_list("governed_by", flat=True))
    assert shown == set(DueItem.GovernedBy.values)


def test_winters_are_spent_in_all_four_grades_of_storage():
    assert set(LayUp.objects.values_list("storage", flat=True)) == set(LayUp.Storage.values)


def test_one_car_has_stood_for_eleven_years_and_is_expected_back():
    lay_up = LayUp.objects.get(vehicle__registration="VY-520")
    assert (lay_up.from_on.year, lay_up.to_on, lay_up.expected_to.year) == (2015, None, 2027)


def test_the_fluid_of_the_barn_car_is_to_be_renewed_before_it_moves():
    (renewal,) = due("VY-520", kind="brake-fluid", task="renew")
    assert renewal.status == "before_use"


def test_the_pads_worn_to_the_limit_are_overdue_by_wear():
    (pads,) = due("VY-467", kind="brake-pads", position="front", task="renew")
    assert (pads.status, pads.governed_by) == ("overdue", "wear")


def test_each_fault_not_yet_repaired_after_the_failed_inspection_is_overdue():
    found = {(item.kind, item.status) for item in due("VY-709", governed_by="finding")}
    assert found == {(kind, "overdue") for kind in ("tyre", "brake-hose", "ball-joint-boot")}


def test_plugs_that_run_well_enough_are_put_off_until_the_new_ones_go_in():
    today = demonstration.TOLD_ON
    items = due_list(Vehicle.objects.filter(registration="VY-803"), on=today)
    (put_off,) = (item for item in with_put_offs(items, on=today) if item.put_off)
    assert (put_off.kind, put_off.task, put_off.status) == ("spark-plugs", "clean", "overdue")


def test_a_half_shaft_renewed_for_one_gaiter_brings_both_its_gaiters_new():
    entry = Entry.objects.get(component__kind="half-shaft", event__on_stated="2021-05-29")
    assert sorted(part.position for part in entry.component.parts.all()) == [
        "left inner",
        "left outer",
    ]


def test_the_odometer_that_rolled_over_shows_less_than_it_did_before():
    values = OdometerReading.objects.filter(vehicle__registration="VY-118").order_by("on")
    shown = [int(reading.value) for reading in values]
    assert shown != sorted(shown)


def test_the_spare_made_in_the_first_week_of_2000_is_too_old():
    (spare,) = due("VY-412", kind="tyre", position="spare", task="renew")
    assert spare.due_on < demonstration.TOLD_ON


def test_bumpers_were_refinished():
    assert Entry.objects.filter(component__kind="bumper", action="refinish").count() == 3


def test_every_car_has_a_keeper():
    assert Vehicle.objects.filter(keeper=None).count() == 0


def test_a_keeper_sees_their_own_cars_alone():
    account = Account.objects.get(username="demo-keeper-1")
    assert sorted(car.registration for car in sight_of(account).vehicles()) == [
        "VY-118",
        "VY-305",
        "VY-588",
        "VY-709",
    ]


def test_the_password_printed_is_that_of_every_member(printed):
    password = told(printed, "Password")
    assert all(account.check_password(password) for account in Account.objects.all())


def test_only_the_secretary_may_use_the_admin():
    assert [a.username for a in Account.objects.filter(is_staff=True)] == ["demo-secretary"]


def test_the_token_printed_is_good_for_the_secretary(printed):
    token = token_account(text=told(printed, "Token"), at=NOON)
    assert (token.account.username, token.scope) == ("demo-secretary", "manage")


def test_the_address_asked_for_is_the_one_printed(printed):
    assert "http://127.0.0.1:8123/api/v1/docs/" in printed


def test_the_due_list_is_printed(printed):
    assert re.search(r"overdue +VY-467 +brake-pads front", printed)


def test_a_second_run_adds_nothing():
    before = records()
    run_demo(NOON)
    assert records() == before


def test_a_second_run_a_month_later_adds_nothing():
    before = records()
    run_demo(NOON + datetime.timedelta(days=30))
    assert records() == before


def test_a_second_run_ends_the_token_of_the_first(printed):
    run_demo(NOON)
    assert token_account(text=told(printed, "Token"), at=NOON) is None
    assert AccessToken.objects.filter(revoked_at=None).count() == 1


def test_a_database_with_somebody_elses_collection_is_left_alone():
    Collection.objects.update(name="Somebody's cars")
    before = Account.objects.count(), *records()
    with pytest.raises(CommandError, match="holds other collections"):
        run_demo(NOON)
    assert (Account.objects.count(), *records()) == before


def test_told_on_its_own_day_the_history_is_the_file():
    document = json.loads(demonstration.FILE.read_text(encoding="utf-8"))
    assert demonstration.told_on(document, today=demonstration.TOLD_ON) == document
