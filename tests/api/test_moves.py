"""Parts that move, over HTTP."""

import pytest

from maintenance.models import Component, DueItem
from tests.api.callers import Caller, pointers
from tests.factories import ComponentFactory, MemberFactory, VehicleFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def tyre(car):
    return ComponentFactory(vehicle=car, kind="tyre", position="front left")


@pytest.fixture
def other(car):
    """Another car of the collection, with no tyre on its front left wheel."""
    other = VehicleFactory(collection=car.collection)
    ComponentFactory(vehicle=other, kind="tyre", position="front left")
    return other


def event(car, *entries, on="2026-10-01"):
    said = [{"kind": "tyre", "position": "front left"} | entry for entry in entries]
    return {"vehicle": str(car.id), "on": on, "entries": said}


def moved(position, car=None):
    there = {"position": position} | ({"vehicle": str(car.id)} if car else {})
    return {"action": "move", "to": there}


def test_a_part_moved_to_a_shelf_is_answered_with_where_it_went(secretary, car, tyre):
    shelf = {"vehicle": str(car.id), "kind": "tyre", "position": "loft", "storage": "dry"}
    made = secretary.post("components", shelf).json()
    assert (made["storage"], made["empty_since"]) == ("dry", None)
    answer = secretary.post("service-events", event(car, moved("loft")))
    assert answer.json()["entries"][0]["to"] == {
        "component": made["id"], "vehicle": str(car.id), "position": "loft",
    }  # fmt: skip
    assert secretary.get(f"components/{tyre.id}").json()["empty_since"] == "2026-10-01"


def test_a_part_goes_to_another_car_and_is_due_there(secretary, car, tyre, other):
    secretary.post("service-events", event(other, {"action": "remove"}, on="2026-01-01"))
    secretary.post("service-events", event(car, {"action": "renew"}, on="2024-01-01"))
    answer = secretary.post("service-events", event(car, moved("front left", other)))
    assert answer.status_code == 201
    (item,) = DueItem.objects.filter(vehicle=other, kind="tyre", task="renew")
    working = secretary.get(f"due-items/{item.id}/working").json()
    assert [leg["vehicle"] for leg in working["journey"]] == [car.registration, other.registration]


def test_many_events_may_move_parts_between_their_cars(secretary, car, tyre, other):
    events = [event(other, {"action": "remove"}), event(car, moved("front left", other))]
    answer = secretary.post("service-events/bulk", {"service_events": events})
    assert answer.status_code == 201
    assert Component.objects.get(vehicle=other).empty_since is None


def test_one_impossible_move_among_many_is_told_by_its_place(secretary, car, tyre, other):
    events = [event(other, {"action": "inspect"}), event(car, moved("front left", other))]
    answer = secretary.post("service-events/bulk", {"service_events": events})
    assert pointers(answer) == {"/service_events/1/entries/0/to"}


def test_a_keeper_gives_no_part_to_a_car_of_somebody_else(car, tyre, other):
    keeper = MemberFactory(collection=car.collection, role="keeper")
    car.keeper = keeper
    car.save()
    answer = Caller(keeper.account).post("service-events", event(car, moved("front left", other)))
    assert pointers(answer) == {"/entries/0/to/vehicle"}


def test_a_part_goes_to_no_car_of_another_collection(secretary, car, tyre):
    elsewhere = MemberFactory(account=secretary.account).collection
    foreign = VehicleFactory(collection=elsewhere)
    strange = event(car, {"action": "inspect"}, moved("front left", foreign))
    answer = secretary.post("service-events", strange)
    assert (answer.status_code, pointers(answer)) == (422, {"/entries/1/to/vehicle"})
    made = secretary.post("service-events", event(car, {"action": "inspect"})).json()
    said = strange | {"reason": "the loft"}
    del said["vehicle"]
    answer = secretary.post(f"service-events/{made['id']}/corrections", said)
    assert (answer.status_code, pointers(answer)) == (422, {"/entries/1/to/vehicle"})


def test_of_many_events_each_move_to_another_collection_is_told(secretary, car, tyre):
    elsewhere = MemberFactory(account=secretary.account).collection
    foreign = VehicleFactory(collection=elsewhere)
    odd = [event(car, moved("front left", foreign)), event(car, {"action": "inspectt"})]
    answer = secretary.post("service-events/bulk", {"service_events": [*odd, odd[0]]})
    assert pointers(answer) == {
        "/service_events/0/entries/0/to/vehicle",
        "/service_events/1/entries/0/action",
        "/service_events/2/entries/0/to/vehicle",
    }
