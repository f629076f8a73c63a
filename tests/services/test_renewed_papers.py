import datetime

import pytest

from maintenance.queries.due_answers import due_on_another_day
from tests.factories import PaperFactory, VehicleFactory
from tests.services.asking import day

pytestmark = pytest.mark.django_db
ON = day("2026-11-25")


def paper(car, *, until, begins=None, kind="vehicle-tax", number=""):
    return PaperFactory(vehicle=car, kind=kind, number=number, from_on=begins, until=day(until))


def papers_due(*cars, on=ON):
    return [item for item in due_on_another_day(cars, on=on) if item.paper_id]


def told(car, *, on=ON):
    return {item.due_on.isoformat(): item.status for item in papers_due(car, on=on)}


@pytest.fixture
def taxed():
    """A car whose tax ran until the end of October."""
    car = VehicleFactory()
    paper(car, until="2026-10-31")
    return car


def test_a_tax_that_was_paid_anew_is_no_longer_overdue(taxed):
    paper(taxed, until="2027-10-31")
    assert told(taxed) == {"2027-10-31": "in_date"}


def test_a_paper_that_begins_after_a_gap_takes_over_once_it_has_begun(taxed):
    paper(taxed, begins=day("2026-12-01"), until="2027-11-30")
    days = (ON, day("2026-12-01"))
    assert [set(told(taxed, on=on)) for on in days] == [
        {"2026-10-31", "2027-11-30"},
        {"2027-11-30"},
    ]


def test_a_paper_renewed_ahead_without_a_gap_is_not_told_of_again(taxed):
    paper(taxed, begins=day("2026-11-01"), until="2027-10-31")
    assert set(told(taxed, on=day("2026-10-20"))) == {"2027-10-31"}


def test_insurance_renews_no_tax(taxed):
    paper(taxed, kind="insurance", until="2027-10-31")
    assert told(taxed)["2026-10-31"] == "overdue"


def test_the_paper_of_one_car_renews_none_of_another(taxed):
    other = VehicleFactory(collection=taxed.collection)
    paper(other, until="2027-10-31")
    assert {item.due_on for item in papers_due(taxed, other)} == {
        datetime.date(2026, 10, 31),
        datetime.date(2027, 10, 31),
    }


def test_of_two_extinguishers_each_is_told_by_its_number():
    car = VehicleFactory()
    for number, until in (("A 1", "2026-10-31"), ("A 2", "2027-10-31"), ("A 2", "2026-09-30")):
        paper(car, kind="fire-extinguisher", number=number, until=until)
    assert set(told(car)) == {"2026-10-31", "2027-10-31"}


@pytest.mark.parametrize(
    ("kind", "rank"),
    [("insurance", 0), ("fire-extinguisher", 0), ("vehicle-tax", 1), ("breakdown-cover", 1)],
)
def test_breakdown_cover_is_no_matter_of_safety(kind, rank):
    car = VehicleFactory()
    paper(car, kind=kind, until="2026-10-31")
    assert [item.criticality_rank for item in papers_due(car)] == [rank]
