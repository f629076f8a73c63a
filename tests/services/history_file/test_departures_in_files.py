"""Cars that have left, in history files: closed last, and closed they stay."""

import json

import pytest

from maintenance.models import Arrival, Departure, DueItem, HistoryLink, Vehicle
from maintenance.queries.departures import departures_of
from maintenance.services.departures import leave
from maintenance.services.evidence import withdraw
from maintenance.services.verify_history import verify_history
from tests.services.asking import day, refused
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_byte_round_trip import text, twice
from tests.services.history_file.test_check import RULE, refusal
from tests.services.history_file.test_moves_in_files import EMPTIED, borrower, lender, problems

pytestmark = pytest.mark.django_db
SOLD = {"on": "2026-11-20", "how": "sold", "note": "To a member."}


def sold(**said):
    return car(departures=[SOLD], **said)


def added(report):
    return dict(+report.added)


def test_a_car_that_left_comes_with_all_its_records_and_is_closed_then(when):
    report = take(file_of(sold()), when)
    assert (report.added["departures"], report.added["service_events"]) == (1, 1)
    departure = Departure.objects.get()
    assert (departure.on, departure.how, departure.note) == (
        day("2026-11-20"),
        *list(SOLD.values())[1:],
    )
    assert HistoryLink.objects.order_by("sequence").last().record == departure.pk
    assert not DueItem.objects.exists()


def test_it_comes_back_to_the_byte_and_twice_adds_nothing(when):
    take(file_of(sold(), car(registration="HM 78")), when)
    assert added(take(json.loads(text()), when)) == {}
    first, second = twice(when)
    assert first == second
    assert json.loads(first)["vehicles"][0]["departures"] == [SOLD]


def test_a_car_that_left_meanwhile_may_be_told_of_again_but_takes_nothing_more(when):
    take(file_of(), when)
    take(file_of(sold()), when)
    assert added(take(file_of(), when)) == {}
    more = car(odometer_readings=[{"on": "2026-11-01", "value": 48500}])
    assert "is closed" in problems(take, file_of(more), when)["/vehicles/0"]
    put_off = {"component": {"kind": "brake-fluid", "task": "renew"}, "rule": "brake fluid renewal"}
    put_off |= {"since": "2026-05-01", "until": "2026-12-24", "why": "on order"}
    found = problems(take, file_of(car(postponements=[put_off])), when)
    assert set(found) == {"/vehicles/0"}


def test_the_record_that_closes_a_car_may_come_with_others(when):
    take(file_of(), when)
    later = sold(odometer_readings=[{"on": "2026-11-01", "value": 48500}])
    assert added(take(file_of(later), when)) == {"odometer_readings": 1, "departures": 1}


def test_a_car_that_came_back_is_not_closed_again_by_the_old_file(when):
    take(file_of(sold()), when)
    withdraw(record=Departure.objects.get(), reason="the sale fell through", **when)
    assert added(take(file_of(sold()), when)) == {}
    assert not departures_of([Vehicle.objects.get().pk])
    assert "departures" not in json.loads(text())["vehicles"][0]


def test_another_departure_than_the_one_on_record_is_refused(when):
    take(file_of(sold()), when)
    other = car(departures=[SOLD | {"how": "exported"}])
    assert "sold on 2026-11-20" in problems(take, file_of(other), when)["/vehicles/0"]


@pytest.mark.parametrize(
    ("said", "pointer", "word"),
    [
        ({"how": "solt"}, "0/how", "'sold'"),
        ({"how": None}, "0/how", "is missing"),
        ({"on": "2026-11-26"}, "0/on", "after today"),
        ({"on": "1960-01-01"}, "0/on", "before the car was built"),
        ({"note": 5}, "0/note", "text"),
        ({"day": "2026-11-20"}, "0/day", "how, note, on"),
    ],
)
def test_a_departure_that_makes_no_sense_is_refused_once_with_its_place(said, pointer, word, when):
    found = refusal(file_of(car(departures=[SOLD | said])), when)
    assert list(found) == [f"/vehicles/0/departures/{pointer}"]
    assert word in found[f"/vehicles/0/departures/{pointer}"]


def test_a_car_leaves_once(when):
    twice_gone = car(departures=[SOLD, SOLD | {"on": "2026-11-21"}])
    assert list(refusal(file_of(twice_gone), when)) == ["/vehicles/0/departures/1"]


@pytest.mark.parametrize("borrower_first", [True, False])
def test_a_part_still_goes_to_a_car_that_leaves_by_the_same_file(borrower_first, when):
    cars = [lender(), borrower(EMPTIED) | {"departures": [SOLD]}]
    take(file_of(*(cars[::-1] if borrower_first else cars)), when)
    gone = Vehicle.objects.get(registration="HM 78")
    kinds = list(HistoryLink.objects.filter(vehicle=gone).order_by("sequence").values("kind"))
    assert Arrival.objects.get().vehicle == gone
    assert kinds[-1]["kind"] == HistoryLink.Kind.DEPARTURE
    assert not [fault for found in verify_history(Vehicle.objects.all()) for fault in found.faults]
    first, second = twice(when)
    assert first == second


@pytest.mark.parametrize("named", ["in the file too", "by the move alone"])
def test_no_part_goes_to_a_car_that_left_before(named, when):
    take(file_of(borrower(EMPTIED) | {"departures": [SOLD]}), when)
    cars = [lender(), *([borrower(EMPTIED)] if named == "in the file too" else [])]
    found = problems(take, file_of(*cars), when)
    (pointer,) = found
    assert pointer == "/vehicles/0/service_events/1/entries/0/to/vehicle"
    assert "HM 78 has left the collection" in found[pointer]


def test_a_rule_for_a_car_that_left_comes_with_it_but_not_after_it(when):
    rule = RULE | {"vehicle": "HM 77"}
    take(file_of(sold(), interval_rules=[rule]), when)
    assert added(take(file_of(interval_rules=[rule]), when)) == {}
    later = rule | {"task": "inspect"}
    found = problems(take, file_of(interval_rules=[later]), when)
    assert "is closed" in found["/interval_rules/0/vehicle"]


def test_the_words_of_the_file_are_those_of_the_record(when):
    take(file_of(), when)
    for how in Departure.How.values:
        row = leave(vehicle=Vehicle.objects.get(), on=day("2026-11-20"), how=how, **when)
        withdraw(record=row, reason="to try the next", **when)
    wrong = {"vehicle": Vehicle.objects.get(), "on": day("2026-11-20"), "how": "given"}
    assert set(refused(leave, **wrong, **when)) == {"/how"}
