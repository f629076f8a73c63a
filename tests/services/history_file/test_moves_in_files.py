"""Parts that move, in history files: between the cars of a file, to stored ones, and back again."""

import json

import pytest

from maintenance.models import Arrival, Component, DueItem, Vehicle
from maintenance.services.refusals import Refused
from maintenance.services.verify_history import verify_history
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_byte_round_trip import twice

pytestmark = pytest.mark.django_db
TYRE = {"kind": "tyre", "position": "front left"}


def lender(*events, **said):
    """A car with a tyre and a shelf, whose tyre goes to HM 78."""
    places = [TYRE, {"kind": "tyre", "position": "shelf", "storage": "damp"}]
    gone = TYRE | {"action": "move", "to": {"vehicle": "HM 78", "position": "front left"}}
    done = [
        {"on": "2020-03-01", "entries": [TYRE | {"action": "renew"}]},
        {"on": "2024-03-01", "entries": [gone]},
        *events,
    ]
    return car(components=places, service_events=done, **said)


def borrower(*events):
    return car(registration="HM 78", components=[TYRE], service_events=list(events), lay_ups=[])


EMPTIED = {"on": "2023-01-01", "entries": [TYRE | {"action": "remove"}]}


def problems(act, *arguments):
    with pytest.raises(Refused) as refusal:
        act(*arguments)
    return {problem.pointer: problem.message for problem in refusal.value.problems}


def test_a_part_goes_to_a_car_that_comes_later_in_the_file(when):
    take(file_of(lender(), borrower(EMPTIED)), when)
    assert DueItem.objects.get(vehicle__registration="HM 78", kind="tyre", task="renew").cycle == (
        "2020-03-01"
    )
    assert Arrival.objects.get().vehicle.registration == "HM 78"
    assert not [fault for found in verify_history(Vehicle.objects.all()) for fault in found.faults]


def test_a_part_goes_to_a_car_that_the_collection_has_already(when):
    take(file_of(borrower(EMPTIED)), when)
    take(file_of(lender()), when)
    assert DueItem.objects.get(vehicle__registration="HM 78", task="renew").cycle == "2020-03-01"


def test_the_other_car_makes_room_on_the_day_itself_whichever_comes_first_in_the_file(when):
    take(file_of(lender(), borrower(EMPTIED | {"on": "2024-03-01"})), when)
    assert DueItem.objects.get(vehicle__registration="HM 78", task="renew").cycle == "2020-03-01"


def test_a_file_with_moves_comes_back_to_the_byte(when):
    to_shelf = TYRE | {"action": "move", "to": {"position": "shelf"}}
    bought = {"on": "2025-01-01", "entries": [TYRE | {"action": "renew"}]}
    stored = {"on": "2025-06-01", "entries": [to_shelf]}
    refitted = {"on": "2025-06-01", "odometer": 47000, "entries": [TYRE | {"action": "renew"}]}
    take(file_of(lender(bought, stored, refitted), borrower(EMPTIED)), when)
    first, second = twice(when)
    assert first == second
    assert json.loads(first)["vehicles"][0]["service_events"][-2]["entries"][0]["to"] == {
        "position": "shelf"
    }
    assert Component.objects.filter(kind="tyre", position="shelf", empty_since=None).count() == 2


def test_a_move_to_the_only_place_of_its_kind_comes_back_to_the_byte(when):
    places = [{"kind": "half-shaft"}, {"kind": "half-shaft", "position": "bench", "storage": "dry"}]
    bench = {"kind": "half-shaft", "position": "bench"}
    done = [
        {"on": "2020-03-01", "entries": [places[0] | {"action": "remove"}]},
        {"on": "2020-03-01", "entries": [bench | {"action": "renew"}]},
        {"on": "2024-03-01", "entries": [bench | {"action": "move", "to": {}}]},
    ]
    take(file_of(car(components=places, service_events=done)), when)
    first, second = twice(when)
    assert first == second and '"to": {}' in first


def test_the_same_file_with_moves_twice_adds_nothing(when):
    take(file_of(lender(), borrower(EMPTIED)), when)
    report = take(file_of(lender(), borrower(EMPTIED)), when)
    assert sum(report.added.values()) == 0


def test_a_move_onto_a_part_that_is_still_there_is_refused_at_its_place_in_the_file(when):
    found = problems(take, file_of(lender(), borrower()), when)
    assert (
        "still in tyre front left of HM 78" in (found["/vehicles/0/service_events/1/entries/0/to"])
    )


def test_a_move_to_a_car_or_place_nobody_knows_is_refused(when):
    found = problems(take, file_of(lender()), when)
    assert (
        "no other car of the collection"
        in (found["/vehicles/0/service_events/1/entries/0/to/vehicle"])
    )
    bare = borrower() | {"components": [{"kind": "coolant"}]}
    found = problems(take, file_of(lender(), bare), when)
    assert (
        "HM 78 has no component 'tyre front left'"
        in (found["/vehicles/0/service_events/1/entries/0/to/kind"])
    )
