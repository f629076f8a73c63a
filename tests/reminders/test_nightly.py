"""The nightly pass: once a collection and local day, whoever asks how often."""

import datetime

import pytest
from django.core.management import CommandError, call_command

from maintenance.management.commands import tick
from maintenance.models import DueItem, NightlyPass
from maintenance.services import nightly
from maintenance.services.nightly import LEASE, collections_to_compute, compute_for_the_day
from tests import factories

pytestmark = pytest.mark.django_db

NOON = datetime.datetime(2026, 11, 25, 12, tzinfo=datetime.UTC)


@pytest.fixture
def club():
    return factories.ComponentFactory(vehicle__collection__time_zone="Pacific/Auckland").collection


def compute(club, at=NOON):
    return compute_for_the_day(collection=club, clock=lambda: at)


def test_the_pass_of_a_day_stores_what_is_due_and_is_not_repeated(club):
    assert compute(club) > 0
    assert DueItem.objects.exists()
    assert compute(club) is None


def test_a_day_begins_at_midnight_of_the_collection(club):
    compute(club, NOON.replace(hour=10))
    assert collections_to_compute(at=NOON.replace(hour=10, minute=59)) == []
    assert collections_to_compute(at=NOON.replace(hour=11)) == [club]


def test_a_pass_that_another_is_at_is_left_to_it(club):
    NightlyPass.objects.create(collection=club, leased_until=NOON + LEASE)
    assert compute(club) is None


def test_a_pass_that_died_is_begun_anew_when_its_lease_has_run_out(club):
    NightlyPass.objects.create(collection=club, leased_until=NOON)
    assert compute(club) > 0


def test_a_pass_that_failed_may_be_begun_anew_at_once(club, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(nightly, "recompute_collection", lambda **_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            compute(club)
    assert compute(club) > 0


def test_a_tick_does_the_rest_where_one_task_fails(club, monkeypatch, capsys):
    other = factories.ComponentFactory().collection
    compute_one = tick.compute_for_the_day

    def failing(*, collection, clock):
        if collection == club:
            raise ZeroDivisionError
        return compute_one(collection=collection, clock=clock)

    monkeypatch.setattr(tick, "compute_for_the_day", failing)
    with pytest.raises(CommandError, match=f"recompute of {club.pk}") as told:
        call_command("tick")
    assert told.value.returncode == 1
    assert set(DueItem.objects.values_list("collection", flat=True)) == {other.pk}
    assert "email" in capsys.readouterr().out


def test_three_days_without_a_pass_are_made_up_for_by_one(club):
    compute(club)
    compute(club, NOON + datetime.timedelta(3))
    assert NightlyPass.objects.get().done_on == datetime.date(2026, 11, 29)
    assert collections_to_compute(at=NOON + datetime.timedelta(3)) == []
