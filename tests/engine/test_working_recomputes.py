"""Whatever a derivation shows can be worked out again from the lines it shows."""

import datetime
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from maintenance.engine.due import due_items
from maintenance.engine.working import explain
from tests.engine.columns_from_history import engine_day, fleet_of
from tests.engine.on_paper import RULE
from tests.engine.reckoning import disagreements, reckon, reckoned
from tests.engine.test_moves_on_paper import SPARE, a_car, entry, happened, moved, read
from tests.strategies import Case, cases

CARS = settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def derivations(case):
    answer = due_items(fleet_of([case]).batch, on=engine_day(case.on))
    for row in range(answer.due.size):
        yield from explain(answer, row, subject="Part").criteria


@CARS
@given(cases())
def test_each_line_comes_to_what_its_formula_comes_to(case):
    for derivation in derivations(case):
        assert disagreements(derivation.lines) == [], derivation.criterion


@CARS
@given(cases())
def test_the_day_shown_is_the_day_the_criterion_falls_due(case):
    for derivation in derivations(case):
        shown = [line.value for line in derivation.lines if line.name == "due_on"]
        if derivation.due_on is not None and derivation.criterion != "no_record":
            assert shown[-1:] == [derivation.due_on], derivation


@CARS
@given(cases())
def test_the_limit_is_reached_on_the_day_shown_and_not_on_the_day_before(case):
    for derivation in derivations(case):
        if derivation.criterion != "time" or derivation.due_on is None:
            continue
        due = derivation.due_on
        eve = due - datetime.timedelta(days=1)
        assert reckoned(derivation.lines)["reached"] >= 0
        assert reckoned(derivation.lines, due_on=eve)["reached"] < 0


@CARS
@given(cases())
def test_the_limit_is_reached_at_both_edges_of_the_band_and_not_before(case):
    for derivation in derivations(case):
        lines = derivation.lines
        named = {line.name: line.value for line in lines}
        for edge, day in (("early", derivation.earliest_on), ("late", derivation.latest_on)):
            if derivation.criterion == "distance" and f"{edge}_reached" in named:
                assert named[f"{edge}_on"] == day
                assert reckoned(lines)[f"{edge}_reached"] >= 0


@CARS
@given(cases())
def test_the_figures_beside_a_formula_are_its_names_with_their_values(case):
    for derivation in derivations(case):
        for line in derivation.lines:
            names = {each.name for each in derivation.lines if each.name}
            assert not names & set(line.figures.split()), line


@pytest.mark.parametrize(("limit", "elsewhere"), [(2_000, True), (9_000, False)])
def test_a_part_that_was_on_a_shelf_has_the_edges_of_its_band_in_the_terms_of_its_car(
    limit, elsewhere
):
    # The smaller limit is reached before the part goes to the shelf, the larger when it is back.
    car = a_car(
        "EX-1",
        SPARE,
        happened("2024-06-01", entry("", "renew")),
        happened("2026-01-01", moved("", "shelf")),
        happened("2026-06-01", moved("shelf", "")),
        odometer_readings=[
            read("2022-01-01", 1_000), read("2022-07-01", 3_200), read("2023-01-01", 4_300),
            read("2023-07-01", 6_100), read("2024-06-01", 9_000),
        ],
    )  # fmt: skip
    rule = (RULE | {"kind": "tyre", "distance_km": limit}, [("tyre", "")])
    shown = list(derivations(Case(car, [rule], None, "2026-11-25", [car])))
    lines = {line.name: line for each in shown for line in each.lines if line.name}
    assert [disagreements(each.lines) for each in shown] == [[] for _ in shown]
    assert lines["late_on"].value >= lines["due_on"].value >= lines["early_on"].value
    assert (lines["early_travelled"].formula == "") == elsewhere


@pytest.mark.parametrize(
    ("formula", "comes_to"),
    [
        ("add_months(day, 1)", datetime.date(2024, 2, 29)),
        ("day − earlier", 31),
        ("2 × (3 − 1) ÷ 8", Fraction(1, 2)),
        ("down(1 ÷ 3)", Fraction(3_333_333, 10_000_000)),
        ("share(2, 1, 3)", Fraction(6_666_666, 10_000_000)),
        ("latest(day, earlier)", datetime.date(2024, 1, 31)),
    ],
)
def test_formulas_are_read_as_they_are_written(formula, comes_to):
    values = {"day": datetime.date(2024, 1, 31), "earlier": datetime.date(2023, 12, 31)}
    assert reckon(formula, values) == comes_to
