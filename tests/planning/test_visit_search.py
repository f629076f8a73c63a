"""Visits of cars with many recurring items, of a size that no constraint model proves."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.planning.errors import PlanningError
from maintenance.planning.problem import Settings
from maintenance.planning.visit_costs import costs_of_visits
from maintenance.planning.visit_exact import relaxed
from maintenance.planning.visit_lines import lines_of
from maintenance.planning.visit_model import days_for
from maintenance.planning.visit_plan import VisitPlan, plan_visits
from maintenance.planning.visit_search import search_visits
from maintenance.planning.visit_weeks import week_hours
from maintenance.planning.visits import VisitItem, VisitTerms

ON = date(2030, 1, 1)
TERMS = VisitTerms(on=ON, until=date(2031, 12, 31), cost_of_visit=6000, weekdays=(0, 1, 2, 3, 4))


def item(number: int, due: int, every: int | None, **more) -> VisitItem:
    due_on = ON + timedelta(days=due)
    told = {"interval_days": every, "cost": 2000, "hours": 0.5} | more
    return VisitItem(f"item {number}", "car", f"component {number}", due_on, **told)


def big_car() -> list[VisitItem]:
    return [item(n, 7 * n % 300, (91, 182, 365, 730)[n % 4]) for n in range(32)]


def searched(items, terms=TERMS, free=None):
    days = days_for(items, terms, terms.open_days())
    return search_visits(items, terms, days, seed=1, effort=0.1, free=free)


lines = st.lists(
    st.tuples(st.integers(-60, 700), st.sampled_from([None, 30, 91, 182, 365, 730])),
    min_size=1,
    max_size=12,
)


@settings(max_examples=25, deadline=None)
@given(lines)
def test_whatever_falls_due_nothing_of_safety_is_late_and_a_visit_pays(drawn):
    items = [item(n, due, every) for n, (due, every) in enumerate(drawn)]
    found = costs_of_visits(items, TERMS, searched(items))

    # What is overdue when the plan begins is done on its first open day.
    late = sum(i.due_on < ON for i in items) * (TERMS.open_days()[0] - ON).days
    assert found.overdue_safety_days <= late
    proven = relaxed(lines_of(items, TERMS), TERMS, Settings(effort=0.3))
    assert proven is None or found.total >= proven.bound


def test_a_car_with_dozens_of_items_costs_less_than_each_on_its_day():
    plan = plan_visits(big_car(), TERMS, Settings(effort=0.3))

    assert isinstance(plan, VisitPlan)
    assert plan.costs.total < plan.each_on_its_day.total / 2
    assert plan.bound <= plan.costs.total


def test_the_same_seed_gives_the_same_days():
    assert searched(big_car()) == searched(big_car())


def test_a_week_takes_no_more_than_the_workshops_hours():
    terms = VisitTerms(
        on=ON, until=TERMS.until, cost_of_visit=6000, hours_per_week=3.0, weekdays=(0, 1)
    )
    free = week_hours(terms)
    found = searched([item(n, 60, None) for n in range(10)], terms, free)

    assert sum(len(days) for days in found.values()) == 10
    assert min(free.values()) >= 0


def test_a_car_that_finds_no_room_is_named():
    terms = VisitTerms(on=ON, until=TERMS.until, hours_per_week=4.0, weekdays=(0, 1, 2, 3, 4))
    # Each of three weeks holds one of four pieces, though their hours together are enough.
    large = [item(n, 14, None, hours=2.5) for n in range(4)]
    many = [item(n, 300, 182, hours=0.0) for n in range(4, 94)]
    with pytest.raises(PlanningError, match=r"car finds no room in weeks of 4 h"):
        plan_visits([*large, *many], terms)


def test_a_first_week_too_short_for_what_is_overdue_is_named_however_much_that_is():
    terms = VisitTerms(on=ON, until=TERMS.until, hours_per_week=4.0, weekdays=(0, 1, 2, 3, 4))
    answer = plan_visits([item(n, -5, 182) for n in range(90)], terms)
    assert [demand.kind for demand in answer.demands] == ["week"] + ["item"] * 9


def test_without_an_open_day_nothing_is_found():
    assert search_visits(big_car(), TERMS, [], seed=1, effort=1.0) is None
