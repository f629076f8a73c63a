from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.planning.conflict import Conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.problem import Settings
from maintenance.planning.visit_plan import VisitPlan, plan_visits
from maintenance.planning.visits import VisitItem, VisitTerms
from maintenance.planning.working_calendar import Span

ON = date(2030, 1, 1)
TWO_YEARS = date(2031, 12, 31)


def day(number: int) -> date:
    return ON + timedelta(days=number)


def item(name: str, due: int, **more) -> VisitItem:
    return VisitItem(name, more.pop("vehicle", "car"), name, day(due), **more)


def planned(items, **more) -> VisitPlan:
    terms = VisitTerms(**({"on": ON, "until": TWO_YEARS, "cost_of_visit": 5000} | more))
    plan = plan_visits(items, terms)
    assert isinstance(plan, VisitPlan), plan
    return plan


def test_two_items_due_in_one_month_share_a_visit_on_the_earlier_day():
    # Fluid 20 days early gives up 20 × 10; a visit of its own would cost 5000.
    plan = planned([item("oil", 100), item("fluid", 120, given_up_per_day=10.0)])

    assert [(visit.on, visit.items) for visit in plan.visits] == [(day(100), ("oil", "fluid"))]
    assert plan.costs.total == 5000 + 200


def test_two_items_half_a_year_apart_keep_their_own_days():
    plan = planned([item("oil", 100), item("belt", 280, given_up_per_day=100.0)])

    assert [visit.on for visit in plan.visits] == [day(100), day(280)]


def test_an_item_done_early_is_due_again_earlier_and_still_in_time():
    oil = item("oil", 100, interval_days=180, cost=1800)
    plan = planned([oil, item("fluid", 80)])

    days = [visit.on for visit in plan.visits if "oil" in visit.items]
    gaps = [(later - earlier).days for earlier, later in zip(days, days[1:], strict=False)]
    assert days[0] <= oil.due_on
    assert all(gap <= 180 for gap in gaps)
    assert (TWO_YEARS - days[-1]).days < 180


def test_a_blackout_brings_a_safety_item_forward_and_never_back():
    shut = (Span(day(90), day(130)),)
    plan = planned([item("hoses", 100)], closed=shut)

    assert [visit.on for visit in plan.visits] == [day(89)]


def test_an_item_that_may_be_late_waits_where_that_is_cheaper_than_a_visit():
    wax = item("wax", 100, criticality="appearance", late_per_day=10.0, cost=100)
    plan = planned([wax, item("hoses", 120, given_up_per_day=100.0)])

    assert len(plan.visits) == 1
    assert plan.costs.overdue_other_days == 20
    assert plan.costs.overdue_safety_days == 0


def test_what_is_overdue_already_is_done_on_the_first_open_day():
    plan = planned([item("hoses", -40)], closed=(Span(ON, day(2)),))

    assert [visit.on for visit in plan.visits] == [day(3)]


def test_what_is_due_today_is_done_on_the_first_open_day_where_today_is_shut():
    plan = planned([item("hoses", 0)], closed=(Span(ON, ON),))

    assert [visit.on for visit in plan.visits] == [day(1)]


def test_a_week_that_is_too_full_sends_a_car_in_earlier():
    cars = [item(f"brakes {n}", 100, vehicle=f"car {n}", hours=6) for n in range(3)]
    plan = planned(cars, hours_per_week=8)

    weeks = {visit.on - timedelta(days=visit.on.weekday()) for visit in plan.visits}
    assert len(weeks) == 3
    assert all(visit.on <= day(100) for visit in plan.visits)


def test_work_for_more_hours_than_there_are_before_the_day_names_the_items_and_the_week():
    cars = [item(f"brakes {n}", 5, vehicle=f"car {n}", hours=6) for n in range(2)]
    terms = VisitTerms(ON, TWO_YEARS, 5000, hours_per_week=8, weekdays=(2, 3))
    answer = plan_visits(cars, terms)

    assert isinstance(answer, Conflict)
    assert [demand.kind for demand in answer.demands] == ["week", "item", "item"]
    assert "the week of 2029-12-31 has 8 h" in answer.words


def test_more_overdue_work_than_the_first_week_holds_names_the_week_and_the_largest_of_it():
    overdue = [item("pads", -9, hours=4), item("hoses", -9, hours=3), item("lamp", -9, hours=1)]
    answer = plan_visits(overdue, VisitTerms(ON, TWO_YEARS, 5000, hours_per_week=5))

    assert isinstance(answer, Conflict) and answer.smallest
    assert [demand.subject for demand in answer.demands] == ["2029-12-31", "pads", "hoses"]


def test_work_due_in_two_weeks_that_they_can_not_hold_names_both():
    cars = [item(f"brakes {n}", 9, vehicle=f"car {n}", hours=6) for n in range(3)]
    answer = plan_visits(cars, VisitTerms(ON, TWO_YEARS, 5000, hours_per_week=8))

    assert isinstance(answer, Conflict) and not answer.smallest
    assert [demand.kind for demand in answer.demands] == ["week"] * 2 + ["item"] * 3


def test_safety_work_of_the_last_car_has_its_place_before_other_work_of_the_first():
    polish = [item(f"polish {n}", -5, hours=4, criticality="appearance") for n in range(2)]
    polish = [replace(each, vehicle="first", late_per_day=50.0) for each in polish]
    brakes = item("brakes", -5, vehicle="second", hours=6)
    plan = planned([*polish, brakes], hours_per_week=8, until=day(60))

    assert [visit.items for visit in plan.visits if visit.on <= day(5)] == [("brakes",)]
    assert plan.costs.overdue_safety_days == 0
    # What finds no room in the first week waits for the second and no longer.
    assert {visit.on for visit in plan.visits if visit.vehicle == "first"} == {day(6)}


def test_an_inspection_on_the_day_of_the_renewal_is_neither_told_nor_charged():
    renewal = item("renew hoses", 30, cost=9000, hours=2)
    inspection = item("look at hoses", 30, cost=1000, hours=1, settled_by=("renew hoses",))
    plan = planned([renewal, inspection])

    assert [(visit.items, visit.hours) for visit in plan.visits] == [(("renew hoses",), 2)]
    assert plan.costs.work == 9000


def test_a_safety_item_with_no_open_day_before_it_is_said_to_be_impossible():
    terms = VisitTerms(ON, TWO_YEARS, 5000, closed=(Span(ON, day(50)),))
    answer = plan_visits([item("hoses", 20)], terms)

    assert isinstance(answer, Conflict)
    assert "hoses of car is done by 2030-01-21" in answer.words


def test_the_habits_are_told_beside_the_plan():
    oil = item("oil", 30, interval_days=182, cost=1820)
    fluid = item("fluid", 60, interval_days=730, cost=7300)
    plan = planned([oil, fluid])

    assert plan.each_on_its_day.visits == 5
    assert plan.each_on_its_day.given_up == 0
    assert plan.everything_yearly.visits == 2
    # Oil at the first day and after a year: 183 days overdue each year, the last to the end.
    assert plan.everything_yearly.overdue_safety_days == 183 + 183
    assert plan.costs.total < plan.each_on_its_day.total


@pytest.mark.parametrize(
    ("items", "more", "words"),
    [
        ([item("oil", 1), item("oil", 2)], {}, "share an id"),
        ([item("oil", 1, criticality="vital")], {}, "criticality 'vital'"),
        ([item("oil", 1, interval_days=0)], {}, "interval_days"),
        ([item("oil", 1, hours=-1)], {}, "below 0"),
        ([], {"until": date(2029, 1, 1)}, "until lies before"),
        ([], {"weekdays": ()}, "no day is open"),
    ],
)
def test_a_visit_plan_that_makes_no_sense_is_refused(items, more, words):
    with pytest.raises(PlanningError, match=words):
        planned(items, **more)


dues = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 400)), min_size=1, max_size=6)


@settings(max_examples=40, deadline=None)
@given(dues, st.integers(0, 4000))
def test_no_choice_of_visit_days_is_cheaper_than_the_plan(drawn, cost):
    items = [
        item(str(n), due, given_up_per_day=float(price)) for n, (due, price) in enumerate(drawn)
    ]
    plan = planned(items, cost_of_visit=cost, until=day(40))

    assert plan.costs.total == pytest.approx(_cheapest(drawn, cost))
    assert plan.gap == pytest.approx(0)


def _cheapest(drawn, cost: int) -> float:
    """Try every set of due days for visits."""
    days = sorted({due for due, _ in drawn})
    best = float("inf")
    for size in range(1, len(days) + 1):
        for visits in combinations(days, size):
            if visits[0] <= min(due for due, _ in drawn):
                early = sum((d - max(v for v in visits if v <= d)) * p for d, p in drawn)
                best = min(best, cost * size + early)
    return best


fleets = st.lists(
    st.tuples(
        st.integers(-30, 300),
        st.sampled_from([None, 90, 182, 365]),
        st.sampled_from(["car 1", "car 2"]),
        st.sampled_from([0.5, 2.0]),
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=25, deadline=None)
@given(fleets)
def test_no_safety_item_is_late_and_no_week_too_full(drawn):
    items = [
        item(str(n), due, interval_days=interval, vehicle=car, hours=hours, cost=3000)
        for n, (due, interval, car, hours) in enumerate(drawn)
    ]
    terms = VisitTerms(ON, day(364), 5000, hours_per_week=8, weekdays=(0, 1, 2, 3, 4))
    plan = plan_visits(items, terms, Settings(effort=1))

    if isinstance(plan, Conflict):  # all that is overdue may be too much for the first week
        assert sum(one.hours for one in items) > 8
        return
    assert plan.costs.overdue_safety_days == 0
    assert plan.bound <= plan.costs.total + 1
    weeks: dict[date, float] = {}
    for visit in plan.visits:
        monday = visit.on - timedelta(days=visit.on.weekday())
        weeks[monday] = weeks.get(monday, 0) + visit.hours
    assert max(weeks.values(), default=0) <= 8
