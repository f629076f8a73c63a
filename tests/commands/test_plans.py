"""The commands that plan: the way back to the road, visits, and prices for them."""

import io
import json
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from maintenance.models import PartOffer, RecommissioningPlan
from maintenance.queries import today as clock
from tests.factories import NOW, CollectionFactory, VehicleFactory
from tests.services.plans.cars import fitted, offer, two_axles

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def stopped(monkeypatch):
    monkeypatch.setattr(clock, "this_instant", lambda: NOW)


@pytest.fixture
def car():
    return two_axles(registration="EX 202")


def run(name, *arguments, **options):
    """Return what a command prints, and its status."""
    out = io.StringIO()
    try:
        call_command(name, *arguments, stdout=out, stderr=io.StringIO(), **options)
    except SystemExit as left:
        return out.getvalue(), left.code
    return out.getvalue(), 0


def recommission(*arguments, by="2027-03-31"):
    return run("recommission", "--vehicle", "EX 202", "--by", by, *arguments)


def told(*arguments, by="2027-03-31"):
    with pytest.raises(CommandError) as refused:
        recommission(*arguments, by=by)
    assert refused.value.returncode == 2
    return str(refused.value)


def test_a_plan_says_what_to_order_when_what_it_costs_and_what_is_critical(car):
    offer(car, "brake-hose", "31.00", lead_days=2)
    printed, status = recommission("--hours", "7")
    assert status == 0
    assert "Ready for inspection on 2026-12-05." in printed
    assert "2026-11-26  4 × brake-hose  Mere Lane Spares  2026-11-28     2  124.00" in printed
    assert "Cost 124.00 EUR" in printed
    assert "Critical: " in printed and "Road test" in printed


def test_a_cost_is_called_proven_in_what_has_a_price_alone(car):
    offer(car, "brake-hose", "31.00")
    printed, _ = recommission("--hours", "7")
    line = "cost: 124.00 EUR (proven: no plan does better in what has a price; 1 renewal has none)"
    assert line in printed


def test_one_person_with_a_hired_lift_is_given_a_plan_and_its_price(car):
    printed, status = recommission("--people", "1", "--resource", "lift:1:80", "--currency", "EUR")
    assert status == 0
    assert "Raise car" in printed and "hire 80.00" in printed


def test_no_line_of_a_plan_is_longer_than_a_hundred_columns(car):
    offer(car, "brake-hose", "31.00", name="hose " * 20, supplier="a long name " * 8)
    printed, _ = recommission()
    assert max(map(len, printed.splitlines())) <= 100


def test_a_plan_as_json_says_the_same(car):
    printed, _ = recommission("--hours", "7", "--stands", "2", "--format", "json")
    found = json.loads(printed)
    assert (found["vehicle"], found["ready_on"]) == ("EX 202", "2026-12-05")
    assert len(found["jobs"]) == 15
    assert found["stages"][0]["proven"]


def test_demands_that_can_not_hold_are_told_in_words_with_status_1(car):
    offer(car, "brake-hose", "31.00", lead_days=60)
    printed, status = recommission("--hours", "7", by="2026-12-20")
    assert status == 1
    words = " ".join(printed.split())
    assert "Impossible. These can't hold together: " in words
    assert "everything is finished by 2026-12-20" in words
    assert "With no deadline and no budget the car is ready for inspection on 2027-02-06" in words


def test_a_budget_needs_no_currency_where_the_offers_have_one(car):
    offer(car, "brake-hose", "31.00")
    printed, _ = recommission("--budget", "200")
    assert "of a budget of 200.00 EUR, 76.00 EUR left" in printed


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--budget", "200"), "--currency: is missing"),
        (("--people", "0"), "--people: are 0"),
        (("--resource", "crane"), "--resource: 'crane' is no known resource"),
        (("--stands", "0"), "--stands: 0 is out of range"),
        (("--start", "2026-01-01"), "--start: 2026-01-01 is before today"),
        (("--seconds", "600"), "--seconds: 600 is out of range"),
    ],
)
def test_bad_input_is_told_by_its_argument(car, arguments, words):
    assert words in told(*arguments)


def test_a_plan_is_kept_only_if_asked(car):
    recommission()
    assert not RecommissioningPlan.objects.exists()
    recommission("--save")
    assert RecommissioningPlan.objects.get().jobs.count() == 15


def test_sheets_drawing_and_calendar_are_written_to_files(car, tmp_path):
    files = [tmp_path / name for name in ("a.pdf", "a.svg", "a.ics")]
    recommission("--sheet", files[0], "--gantt", files[1], "--calendar", files[2])
    begins = [path.read_bytes()[:5] for path in files]
    assert begins == [b"%PDF-", b"<?xml", b"BEGIN"]


def test_visits_are_printed_beside_two_habits():
    car = VehicleFactory(registration="EX 303", inspection_regime="")
    fitted(car, "brake-fluid", "", renewed=NOW.date().replace(year=2025))
    printed, status = run("visit_plan", "--vehicle", "EX 303", "--visit-cost", "80")
    assert status == 0
    for way in ("this plan", "each on its day", "everything yearly"):
        assert way in printed
    assert "Renew brake fluid" in printed
    assert max(map(len, printed.splitlines())) <= 100


def test_visits_that_can_not_all_be_in_time_are_told_with_status_1():
    car = VehicleFactory(registration="EX 303", inspection_regime="")
    fitted(car, "brake-discs", *"abcdef", renewed=NOW.date().replace(year=2020))
    arguments = ("--vehicle", "EX 303", "--hours-per-week", "1", "--months", "2")
    printed, status = run("visit_plan", *arguments)
    assert status == 1
    assert "These can't hold together" in printed and "has 1 h of workshop" in printed


def test_visits_are_planned_for_one_collection():
    CollectionFactory(name="Harrowmere")
    CollectionFactory(name="Ander")
    with pytest.raises(CommandError, match="--collection: name one; there are: Ander, Harrowmere"):
        run("visit_plan")


def test_a_price_list_is_taken_in(tmp_path):
    club = CollectionFactory()
    file = tmp_path / "prices.csv"
    file.write_text("kind,name,price,currency\nbrake-hose,hose,31.00,EUR\n", encoding="utf-8")
    assert run("import_part_offers", file) == ("1 offers are new or changed.\n", 0)
    assert PartOffer.objects.get(collection=club).price == Decimal(31)


def test_a_bad_price_list_is_refused_row_by_row(tmp_path):
    CollectionFactory()
    file = tmp_path / "prices.csv"
    file.write_text("kind,name,price,currency\nbrake-hose,hose,dear,EUR\n", encoding="utf-8")
    with pytest.raises(CommandError) as refused:
        run("import_part_offers", file)
    assert "row 2, price: 'dear' is not an amount" in str(refused.value)
    assert refused.value.returncode == 2


def test_a_file_that_is_not_there_is_named(tmp_path):
    CollectionFactory()
    with pytest.raises(CommandError, match="prices.csv: can't be read"):
        run("import_part_offers", tmp_path / "prices.csv")
