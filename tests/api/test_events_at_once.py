"""A thousand events in one request: all are recorded, or none and every error is told."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.models import ServiceEvent
from maintenance.services.verify_history import verify_history
from tests.api.callers import Caller, pointers
from tests.factories import ComponentFactory, DepartureFactory, MemberFactory, VehicleFactory

pytestmark = pytest.mark.django_db

FLUID = {"kind": "brake-fluid", "action": "renew"}


@pytest.fixture
def cars(club):
    return [
        ComponentFactory(vehicle=VehicleFactory(collection=club), kind="brake-fluid").vehicle
        for _ in range(2)
    ]


def event(car, on="2026-06-01", **said):
    return {"vehicle": str(car.id), "on": on, "entries": [FLUID]} | said


def record(caller, *events, **headers):
    return caller.post("service-events/bulk", {"service_events": events}, **headers)


def test_events_of_two_cars_are_recorded_and_answered_in_their_order(secretary, cars):
    first, second = cars
    answer = record(
        secretary, event(second, "2026-06-03"), event(first, "2026-05"), event(second, "2026-06-01")
    )
    assert answer.status_code == 201
    made = [ServiceEvent.objects.get(pk=pk) for pk in answer.json()["service_events"]]
    assert [(one.vehicle, one.on_stated) for one in made] == [
        (second, "2026-06-03"),
        (first, "2026-05"),
        (second, "2026-06-01"),
    ]
    assert {one.recorded_by for one in made} == {secretary.account}


def test_each_car_is_computed_and_its_chain_goes_on(secretary, cars):
    record(secretary, *[event(car) for car in cars])
    items = secretary.items("due-items", {"component_kind": "brake-fluid"})
    assert {item["vehicle"] for item in items if item["due_on"] == "2028-06-01"} == {
        str(car.id) for car in cars
    }
    assert [(told.length, told.faults) for told in verify_history(cars)] == [(1, []), (1, [])]


def test_every_error_of_every_row_is_told_and_nothing_is_recorded(secretary, cars, stranger):
    first, _ = cars
    theirs = VehicleFactory(collection=stranger.account.memberships.get().collection)
    answer = record(
        secretary,
        event(first, odometer=40000),
        event(first, on="2027-01-01"),
        event(first, colour="red"),
        event(first, entries=[FLUID | {"kind": "brake-fliud"}]),
        event(theirs),
        {"vehicle": "no such thing"},
        "drained",
        event(first, on="2026-06-02", odometer=39000),
    )
    assert answer.status_code == 422
    assert pointers(answer) == {
        "/service_events/1/on",
        "/service_events/2/colour",
        "/service_events/3/entries/0/kind",
        "/service_events/4/vehicle",
        "/service_events/5/on",
        "/service_events/5/vehicle",
        "/service_events/6",
        "/service_events/7/odometer",
    }
    assert not ServiceEvent.objects.exists()


def test_readings_are_held_against_those_on_record_and_each_other(secretary, cars):
    car = cars[0]
    secretary.post("odometer-readings", {"vehicle": str(car.id), "on": "2026-06-01", "value": 500})
    answer = record(
        secretary, event(car, "2026-06-02", odometer=400), event(car, "2026-06-03", odometer=510)
    )
    assert pointers(answer) == {"/service_events/0/odometer"}


def test_a_thousand_events_are_taken_and_no_more(secretary, cars):
    rows = [event(cars[0], entries=[]) for _ in range(1001)]
    answer = record(secretary, *rows)
    assert pointers(answer) == {"/service_events"}
    assert "1000" in answer.json()["errors"][0]["detail"]
    assert record(secretary).status_code == 422
    made = record(secretary, *rows[1:]).json()["service_events"]
    assert len(set(made)) == ServiceEvent.objects.count() == 1000


def test_a_keeper_records_on_their_own_car_and_learns_which_rows_are_not_theirs(club, cars):
    keeper = MemberFactory(collection=club, role="keeper")
    own = VehicleFactory(collection=club, keeper=keeper)
    caller = Caller(keeper.account)
    assert record(caller, event(own, entries=[])).status_code == 201
    assert pointers(record(caller, event(own, entries=[]), event(cars[0]))) == {
        "/service_events/1/vehicle"
    }


def test_a_viewer_who_sees_the_cars_records_on_none(club, cars):
    viewer = MemberFactory(collection=club, role="viewer").account
    MemberFactory(account=viewer)
    answer = record(Caller(viewer), *[event(car) for car in cars])
    assert answer.status_code == 403
    assert pointers(answer) == {"/service_events/0/vehicle", "/service_events/1/vehicle"}


def test_nothing_is_recorded_on_a_car_that_was_sold(secretary, cars):
    DepartureFactory(vehicle=cars[1])
    answer = record(secretary, *[event(car) for car in cars])
    assert pointers(answer) == {"/service_events/1/vehicle"}


def test_a_request_sent_twice_under_its_key_records_its_events_once(secretary, cars):
    rows = [event(car) for car in cars]
    first = record(secretary, *rows, Idempotency_Key='"june"')
    again = record(secretary, *rows, Idempotency_Key='"june"')
    assert first.content == again.content
    assert ServiceEvent.objects.count() == 2


def test_forty_events_on_four_cars_take_as_many_queries_as_ten_on_one(secretary, club, cars):
    cars += VehicleFactory.create_batch(2, collection=club)
    record(secretary, *[event(car, entries=[]) for car in cars])
    counts = set()
    for some in (cars[:1], cars):
        rows = [event(car, "2026-06-02", entries=[]) for car in some for _ in range(10)]
        with CaptureQueriesContext(connection) as queries:
            assert record(secretary, *rows).status_code == 201
        counts.add(len(queries))
    assert len(counts) == 1
