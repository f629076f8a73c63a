"""Putting due items off, cars that leave, undoing and the head of a history, over HTTP."""

import pytest

from maintenance.models import DueItem
from tests.api.callers import Caller
from tests.factories import MemberFactory

WORK = {"on": "2023-11-01", "entries": [{"kind": "brake-fluid", "action": "renew"}]}


@pytest.fixture
def done(secretary, car, fluid):
    """A service event of three years ago."""
    return secretary.post("service-events", {"vehicle": str(car.pk), **WORK}).json()


@pytest.fixture
def item(done, car):
    return DueItem.objects.get(vehicle=car, kind="brake-fluid", task="renew")


@pytest.fixture
def keeper(club, car):
    member = MemberFactory(collection=club, role="keeper")
    car.keeper = member
    car.save()
    return Caller(member.account)


def put_off(caller, item):
    asked = {"due_item": str(item.pk), "until": "2026-12-24", "why": "The fluid is on order."}
    return caller.post("postponements", asked)


def test_an_item_put_off_shows_who_said_so_and_keeps_its_status(secretary, item):
    made = put_off(secretary, item)
    assert made.status_code == 201
    shown = secretary.get(f"due-items/{item.pk}").json()
    assert shown["status"] == "overdue"
    assert shown["put_off"] == {
        "postponement": made.json()["id"],
        "until": "2026-12-24",
        "why": "The fluid is on order.",
        "by": str(secretary.account.pk),
    }


def test_an_item_not_put_off_says_null(secretary, item):
    assert {each["put_off"] for each in secretary.items("due-items")} == {None}


def test_a_keeper_alone_puts_no_safety_item_off(keeper, item):
    answer = put_off(keeper, item)
    assert (answer.status_code, "safety item" in answer.json()["detail"]) == (403, True)


def test_an_item_of_another_club_is_put_off_as_if_it_were_not_there(stranger, item):
    answer = put_off(stranger, item)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/due_item")


def test_a_postponement_is_withdrawn_with_a_reason(secretary, item):
    made = put_off(secretary, item).json()
    answer = secretary.post(f"postponements/{made['id']}/withdrawal", {"reason": "It has come."})
    assert answer.status_code == 201
    assert secretary.get(f"due-items/{item.pk}").json()["put_off"] is None


def test_a_car_that_left_is_read_but_no_longer_written(secretary, car, item):
    gone = {"vehicle": str(car.pk), "on": "2026-11-20", "how": "sold"}
    assert secretary.post("departures", gone).status_code == 201
    answer = secretary.post("service-events", {"vehicle": str(car.pk), **WORK})
    assert (answer.status_code, "closed" in answer.json()["detail"]) == (422, True)
    assert secretary.get(f"vehicles/{car.pk}").json()["departure"] == "sold on 2026-11-20"
    assert len(secretary.items("service-events")) == 1
    assert secretary.items("due-items") == []


def test_a_keeper_does_not_say_that_a_car_left(keeper, car):
    gone = {"vehicle": str(car.pk), "on": "2026-11-20", "how": "sold"}
    assert keeper.post("departures", gone).status_code == 403


def test_a_withdrawal_is_undone(secretary, done):
    path = f"service-events/{done['id']}"
    gone = secretary.post(f"{path}/withdrawal", {"reason": "another car"}).json()
    again = secretary.post(f"service-events/{gone['id']}/undo", {"reason": "this car after all"})
    assert again.status_code == 201
    assert again.json()["entries"][0]["kind"] == "brake-fluid"
    assert (again.json()["withdrawn"], again.json()["supersedes"]) == (False, gone["id"])


def test_the_head_of_a_history_moves_with_each_record(secretary, car, done):
    first = secretary.get(f"vehicles/{car.pk}/history-head").json()
    secretary.post("service-events", {"vehicle": str(car.pk), **WORK})
    second = secretary.get(f"vehicles/{car.pk}/history-head").json()
    assert (first["length"], second["length"]) == (1, 2)
    assert first["digest"] != second["digest"]


def test_the_head_of_a_car_out_of_sight_is_not_found(stranger, car):
    assert stranger.get(f"vehicles/{car.pk}/history-head").status_code == 404
