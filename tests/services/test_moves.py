"""Parts that move: where they may go, what becomes of their clocks, and what is on record of it."""

from decimal import Decimal

import pytest

from maintenance.models import Arrival, Component, DueItem, HistoryLink, Vehicle
from maintenance.queries.due_answers import Answers
from maintenance.services.cars import locked
from maintenance.services.drafts import Destination
from maintenance.services.evidence import withdraw
from maintenance.services.handover import hand_over
from maintenance.services.lay_ups import lay_up
from maintenance.services.recompute import recompute_collection, recompute_vehicles
from maintenance.services.service_events import correct_service_event, record_service_event
from maintenance.services.undo import undo
from maintenance.services.verify_history import verify_history
from maintenance.services.working import workings_of_component
from tests.factories import (
    CollectionFactory,
    ComponentFactory,
    OdometerReadingFactory,
    VehicleFactory,
)
from tests.services.asking import day, entry, event, refused, standing

pytestmark = pytest.mark.django_db
FITTED = "2020-03-01"


@pytest.fixture
def car(when):
    """A car with two tyres in use and room for a spare."""
    car = VehicleFactory(registration="HM 1")
    for position in ("front left", "rear left"):
        ComponentFactory(vehicle=car, kind="tyre", position=position)
    ComponentFactory(vehicle=car, kind="tyre", position="rack", storage="damp")
    return car


@pytest.fixture
def other(car):
    """Another car of the club, with a place for one tyre."""
    other = VehicleFactory(registration="HM 2", collection=car.collection)
    ComponentFactory(vehicle=other, kind="tyre", position="front left")
    return other


def tyre(position, action="renew", **said):
    return entry("tyre", position, action, **said)


def moved(position, to, vehicle=""):
    return tyre(position, "move", to=Destination(to, vehicle))


def did(car, when, *entries, on):
    return record_service_event(vehicle=car, draft=event(*entries, on=on), **when)


def refusal(car, when, *entries, on):
    return refused(record_service_event, vehicle=car, draft=event(*entries, on=on), **when)


def item(car, position, task="renew"):
    return DueItem.objects.get(vehicle=car, kind="tyre", position=position, task=task)


def clocks(car):
    """The places of a car's tyres that are asked something, with the day their clock began."""
    rows = DueItem.objects.filter(vehicle=car, kind="tyre", task="renew")
    return {row.position: row.cycle for row in rows}


def test_tyres_that_change_places_take_their_clocks_along(car, when):
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, tyre("rear left"), on="2024-03-01")
    rotation = (moved("front left", "rear left"), moved("rear left", "front left"))
    did(car, when, *rotation, on="2025-03-01")
    assert clocks(car) == {"front left": "2024-03-01", "rear left": FITTED}


def test_an_emptied_place_is_asked_nothing_until_a_part_is_fitted(car, when):
    did(car, when, tyre("front left"), tyre("rear left", "remove"), on=FITTED)
    did(car, when, moved("front left", "rack"), on="2025-03-01")
    assert clocks(car) == {"rack": FITTED}
    assert Component.objects.get(vehicle=car, position="front left").empty_since == day(
        "2025-03-01"
    )
    did(car, when, tyre("front left"), on="2025-04-01")
    assert clocks(car) == {"rack": FITTED, "front left": "2025-04-01"}
    assert Component.objects.get(vehicle=car, position="front left").empty_since is None


def test_a_part_on_a_shelf_ages_in_the_grade_of_the_store(car, when):
    ComponentFactory(vehicle=car, kind="tyre", position="yard", storage="outdoors")
    did(car, when, tyre("front left"), on="2024-03-01")
    before = item(car, "front left").due_on
    did(car, when, moved("front left", "yard"), on="2025-03-01")
    assert item(car, "yard").due_on < before


def test_a_part_that_went_to_another_car_is_asked_about_there(car, other, when):
    did(other, when, tyre("front left", "remove"), on="2022-01-01")
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    assert (clocks(car), clocks(other)) == (
        {"rear left": ""},
        {"front left": FITTED},
    )


def test_a_lay_up_of_the_car_it_was_on_is_counted_against_it_at_once(car, other, when):
    did(other, when, tyre("front left", "remove"), on="2022-01-01")
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    before = item(other, "front left").due_on
    lay_up(vehicle=car, draft=standing("2021-01-01", "2022-01-01", "outdoors"), **when)
    assert item(other, "front left").due_on < before


def test_the_nightly_pass_finds_the_same_whatever_cars_it_takes_together(
    car, other, when, monkeypatch
):
    did(other, when, tyre("front left", "remove"), on="2022-01-01")
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    monkeypatch.setattr("maintenance.services.recompute.CHUNK", 1)
    assert recompute_collection(collection=car.collection, on=when["today"]) == 0


def test_a_part_that_is_not_there_cannot_be_moved(car, when):
    did(car, when, tyre("front left", "remove"), on="2025-01-01")
    problems = refusal(car, when, moved("front left", "rack"), on="2025-02-01")
    assert "nothing is in tyre front left of HM 1" in problems["/entries/0"]


def test_a_part_cannot_be_moved_to_where_another_one_is(car, when):
    problems = refusal(car, when, moved("front left", "rear left"), on="2025-02-01")
    assert "a part is still in tyre rear left of HM 1" in problems["/entries/0/to"]


def test_a_place_is_free_once_its_part_is_removed_in_the_same_event(car, when):
    entries = (tyre("rear left", "remove"), moved("front left", "rear left"))
    assert did(car, when, *entries, on="2025-02-01")


@pytest.mark.parametrize(
    ("said", "pointer", "message"),
    [
        (tyre("front left", "move"), "/entries/0/to", "say to which position"),
        (tyre("front left", to=Destination("rack")), "/entries/0/to", "for the action move only"),
        (moved("front left", "front left"), "/entries/0/to/position", "is in tyre front left alr"),
        (moved("front left", "rakc"), "/entries/0/to/position", "nearest it has is 'tyre rack'"),
        (moved("front left", "rack", "HM 9"), "/entries/0/to/vehicle", "no other car of the coll"),
    ],
)
def test_a_move_that_goes_nowhere_known_is_refused(car, when, said, pointer, message):
    assert message in refusal(car, when, said, on="2025-02-01")[pointer]


def test_one_part_cannot_go_to_two_places(car, when):
    twice = (moved("front left", "rack"), moved("front left", "rear left"))
    assert "moved twice" in refusal(car, when, *twice, on="2025-02-01")["/entries/1"]


def test_an_assembly_does_not_go_without_saying_where_its_parts_go(car, when):
    shaft = ComponentFactory(vehicle=car, kind="half-shaft")
    ComponentFactory(vehicle=car, kind="half-shaft-boot", assembly=shaft)
    ComponentFactory(vehicle=car, kind="half-shaft", position="bench", storage="dry")
    gone = entry("half-shaft", "", "move", to=Destination("bench"))
    problems = refusal(car, when, gone, on="2025-02-01")
    assert "half-shaft-boot of HM 1 is still on the assembly" in problems["/entries/0"]
    assert did(car, when, entry("half-shaft-boot", "", "remove"), gone, on="2025-02-01")


def test_nothing_may_be_recorded_before_a_move_that_makes_it_impossible(car, when):
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, moved("front left", "rack"), on="2025-02-01")
    problems = refusal(car, when, tyre("front left", "remove"), on="2024-02-01")
    assert problems[""].startswith("contradicts a move on record: on 2025-02-01")


@pytest.fixture
def lent(car, other, when):
    """The event by which a tyre went to the other car."""
    did(other, when, tyre("front left", "remove"), on="2022-01-01")
    did(car, when, tyre("front left"), on=FITTED)
    return did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")


def test_both_cars_have_the_move_on_record(car, other, lent):
    (arrival,) = Arrival.objects.filter(vehicle=other)
    assert (arrival.on, arrival.move.event) == (day("2023-01-01"), lent)
    assert HistoryLink.objects.filter(vehicle=other, record=arrival.pk).exists()
    assert not [fault for found in verify_history([car, other]) for fault in found.faults]


def test_a_move_taken_back_is_taken_back_on_both_cars(car, other, lent, when):
    withdrawn = withdraw(record=lent, reason="Another tyre.", **when)
    assert not Arrival.objects.filter(current=True, withdrawn=False).exists()
    assert (clocks(car)["front left"], clocks(other)) == (FITTED, {})
    undo(record=withdrawn, reason="It was this one.", **when)
    assert clocks(other) == {"front left": FITTED}
    assert not [fault for found in verify_history([car, other]) for fault in found.faults]


def test_a_move_corrected_to_another_place_is_no_longer_on_the_first_car(car, other, lent, when):
    draft = event(moved("front left", "rack"), tyre("rack", "clean"), on="2023-01-01")
    correct_service_event(event=lent, draft=draft, reason="It stayed.", **when)
    assert clocks(other) == {}
    assert clocks(car)["rack"] == FITTED


def test_a_correction_stands_where_the_record_stood_among_those_of_its_day(car, when):
    did(car, when, tyre("front left"), on=FITTED)
    away = did(car, when, moved("front left", "rack"), on="2025-02-01")
    did(car, when, tyre("front left"), on="2025-02-01")
    draft = event(moved("front left", "rack"), on="2025-02-01", done_by="Mere Lane Garage")
    correct_service_event(event=away, draft=draft, reason="By whom.", **when)
    assert clocks(car) == {"rear left": "", "rack": FITTED, "front left": "2025-02-01"}


def test_a_part_waits_on_its_day_for_the_other_car_to_make_room(car, other, when):
    did(car, when, tyre("front left"), on=FITTED)
    did(other, when, tyre("front left"), on=FITTED)
    ComponentFactory(vehicle=other, kind="tyre", position="rack", storage="dry")
    problems = refusal(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    assert "still in tyre front left of HM 2" in problems["/entries/0/to"]
    did(other, when, moved("front left", "rack"), on="2023-01-01")
    did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    assert clocks(other) == {"front left": FITTED, "rack": FITTED}


def test_what_one_car_covered_counts_on_the_next(car, other, when):
    for vehicle, on, value in (
        (car, "2020-03-01", 10_000), (car, "2023-01-01", 18_000),
        (other, "2023-01-01", 50_000), (other, "2024-01-01", 51_500),
    ):  # fmt: skip
        OdometerReadingFactory(vehicle=vehicle, on=day(on), value=Decimal(value))
    did(other, when, tyre("front left", "remove"), on="2022-01-01")
    did(car, when, tyre("front left"), on=FITTED)
    did(car, when, moved("front left", "front left", "HM 2"), on="2023-01-01")
    (renewal, *_) = workings_of_component(
        vehicle=other, kind="tyre", position="front left", on=day("2024-01-01")
    )
    legs = [(leg["vehicle"], leg["from_on"], leg["distance_km"]) for leg in renewal["journey"]]
    assert legs == [("HM 1", None, 8000), ("HM 2", "2023-01-01", 1500)]


def test_a_part_from_a_car_that_left_for_another_collection_stands_without_record(
    car, other, lent, today
):
    taker = CollectionFactory()
    hand_over(vehicle=locked(car), to=taker, keeper=None, left_on=today, today=today)
    assert clocks(other) == {"front left": ""}
    assert clocks(car) == {"rear left": ""}
    found = verify_history(Vehicle.objects.all())
    assert not [fault for verified in found for fault in verified.faults]


def test_all_cars_that_exchanged_parts_are_locked_together(car, other, lent):
    assert locked(other).pk == other.pk
    assert recompute_vehicles(vehicles=[other], on=day("2026-11-25")) == 0


def test_no_other_cars_are_listed_with_the_one_asked_about(car, other, lent, today):
    found = {item.vehicle_id for item in Answers([other], on=today).items()}
    assert found == {other.pk}
