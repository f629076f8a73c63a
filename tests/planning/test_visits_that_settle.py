"""Renewals that do an inspection's work as well, foreseen by the plan of visits."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.planning.errors import PlanningError
from maintenance.planning.problem import Settings
from maintenance.planning.visit_costs import by_itself, costs_of_visits
from maintenance.planning.visit_habits import each_on_its_day
from maintenance.planning.visit_plan import VisitPlan, plan_visits
from maintenance.planning.visits import VisitItem, VisitTerms
from maintenance.planning.working_calendar import Span

ON = date(2030, 1, 1)


def day(number: int) -> date:
    return ON + timedelta(days=number)


def item(name: str, due: int, **more) -> VisitItem:
    return VisitItem(name, more.pop("vehicle", "car"), name, day(due), **more)


# A day of the inspection is worth 2000 / 200 = 10, one of the renewal 1000 / 1000 = 1.
RENEWAL = item("renew", 180, cost=1000, interval_days=1000)
INSPECTION = item("inspect", 100, cost=2000, interval_days=200, settled_by=("renew",))
ANCHORS = [item(f"anchor {due}", due, given_up_per_day=1000.0) for due in (100, 180)]
TERMS = VisitTerms(ON, day(250), 5000)


def planned(items, terms=TERMS) -> VisitPlan:
    plan = plan_visits(items, terms)
    assert isinstance(plan, VisitPlan), plan
    return plan


def test_a_renewal_is_pulled_to_the_day_of_the_inspection_that_it_makes_needless():
    # The anchors ask for visits on days 100 and 180: 2 × 5000. Renewed on its day, 180, the hose
    # was looked at on day 100, and of that look's 200 days 120 are lost: 120 × 10 = 1200. Renewed
    # on day 100, 80 days early at 1 each, it needs no look until day 300: 80 in all.
    plan = planned([*ANCHORS, RENEWAL, INSPECTION])

    assert [visit.items for visit in plan.visits] == [("anchor 100", "renew"), ("anchor 180",)]
    assert plan.costs.total == 10_080
    assert plan.gap == 0
    assert plan.each_on_its_day.total == 11_200


def test_a_renewal_whose_life_is_dear_keeps_its_day():
    # At 20 a day 80 days early cost 1600, more than the 1200 lost of the inspection.
    dear = replace(RENEWAL, given_up_per_day=20.0)
    plan = planned([*ANCHORS, dear, INSPECTION])

    assert plan.costs.total == 11_200


def test_an_inspection_just_before_a_renewal_is_told_as_waste():
    done = {"renew": [day(110)], "inspect": [day(100)]}
    costs = costs_of_visits([RENEWAL, INSPECTION], TERMS, done)

    # The renewal gives up 70 days of its own, and 190 of the inspection's 200.
    assert costs.given_up == 70 * 1 + 190 * 10
    assert costs.overdue_safety_days == 0


def test_after_a_renewal_nothing_is_looked_at_before_its_interval_is_over():
    terms = replace(TERMS, until=day(400))
    done = each_on_its_day([INSPECTION, RENEWAL], terms)

    assert done == {"renew": [day(180)], "inspect": [day(100), day(380)]}
    assert costs_of_visits([INSPECTION, RENEWAL], terms, done).overdue_safety_days == 0


def test_an_inspection_that_only_a_late_renewal_would_settle_is_still_done_in_time():
    late = item("renew", 100, criticality="appearance", late_per_day=1.0, interval_days=1000)
    look = replace(INSPECTION, due_on=day(50))
    plan = planned([late, look])

    assert plan.costs.overdue_safety_days == 0
    assert plan.visits[0].on <= day(50)


def test_a_finding_is_not_mended_after_the_renewal_that_clears_it():
    plan = planned([*ANCHORS, RENEWAL, item("repair", 190, cost=4000, settled_by=("renew",))])

    assert "repair" not in [name for visit in plan.visits for name in visit.items]


@pytest.mark.parametrize("criticality", ["safety", "reliability"])
def test_what_nothing_makes_due_again_is_done_at_one_visit_of_many(criticality):
    once = {"criticality": criticality, "late_per_day": 100.0, "cost": 6750, "hours": 1.5}
    fuel = item("renew fuel", 0, **once)
    points = item("renew points", 0, interval_days=730, **once)
    look = item("look at points", 0, settled_by=("renew points",), **once)
    oil = item("look at oil", 152, interval_days=181, **once)
    terms = VisitTerms(ON, day(731), 6000)
    for items in ([fuel, oil], [fuel, points, look, oil]):
        for plan in (planned(items, terms), planned(items, replace(terms, hours_per_week=40))):
            told = [name for visit in plan.visits for name in visit.items]
            assert len(plan.visits) > 3
            assert told.count("renew fuel") == 1
            assert "look at points" not in told
            assert plan.costs.work == 6750 * len(told)


def test_a_finding_mended_before_the_renewal_is_not_mended_again():
    finding = item("repair", 0, cost=4000, settled_by=("renew",))
    done = {"renew": [day(100)], "repair": [day(0), day(50), day(150)]}

    assert by_itself(finding, done) == [day(0)]
    assert by_itself(finding, done | {"repair": [day(150)]}) == []


def test_within_weekly_hours_what_is_settled_takes_no_time():
    inspection = replace(INSPECTION, hours=3.0, due_on=RENEWAL.due_on)
    renewal = replace(RENEWAL, hours=4.0)
    plan = planned([renewal, inspection], replace(TERMS, hours_per_week=5.0))

    assert [(visit.items, visit.hours) for visit in plan.visits] == [(("renew",), 4.0)]


@pytest.mark.parametrize(
    ("items", "words"),
    [
        ([replace(RENEWAL, vehicle="other"), INSPECTION], "inspect: settled_by names an item of"),
        ([replace(RENEWAL, settled_by=("inspect",)), INSPECTION], "goes in a circle"),
    ],
)
def test_what_can_not_settle_is_refused(items, words):
    with pytest.raises(PlanningError, match=words):
        planned(items)


DAYS = 6
prices = st.integers(0, 30).map(float)
dues, intervals = st.integers(-2, DAYS), st.sampled_from([None, 2, 3, 4, 9])


@st.composite
def things(draw, name: str, **more) -> VisitItem:
    """An item of safety, or one that may be late."""
    late = draw(st.none() | prices)
    told = {"given_up_per_day": draw(prices), "interval_days": draw(intervals), **more}
    if late is not None:
        told |= {"criticality": "reliability", "late_per_day": late}
    return item(name, draw(dues), **told)


@st.composite
def components(draw, name: str) -> list[VisitItem]:
    """A renewal with up to two items that it settles."""
    below = [
        draw(things(f"{name} {number}", settled_by=(name,)))
        for number in range(draw(st.integers(0, 2)))
    ]
    return [draw(things(name)), *below]


@settings(max_examples=40, deadline=None)
@given(
    components("a"),
    components("b"),
    st.integers(0, 60),
    st.booleans(),
)
def test_no_way_of_doing_a_few_items_on_a_few_days_is_cheaper(one, other, cost, shut):
    closed = (Span(ON, ON),) if shut else ()
    terms = VisitTerms(ON, day(DAYS - 1), cost, closed=closed)
    plan = plan_visits([*one, *other], terms, Settings(effort=0.3))
    assert isinstance(plan, VisitPlan)
    cheapest = _cheapest([one, other], terms)

    assert plan.bound <= cheapest + 1e-6
    assert cheapest - 1e-6 <= plan.costs.total <= cheapest + 0.5
    assert plan.costs.overdue_safety_days == _unavoidable([*one, *other], terms)
    assert plan.costs.total <= plan.each_on_its_day.total + 0.5
    told = [name for visit in plan.visits for name in visit.items]
    assert all(told.count(a.id) <= 1 for a in [*one, *other] if a.interval_days is None)


def _unavoidable(items, terms: VisitTerms) -> int:
    wait = (terms.open_days()[0] - ON).days
    return sum(wait for one in items if one.criticality == "safety" and one.due_on <= ON)


def _cheapest(groups, terms: VisitTerms) -> float:
    """Try every way of doing each item on every set of days."""
    open_days = terms.open_days()
    sets = [
        tuple(d for d, taken in zip(open_days, chosen, strict=True) if taken)
        for chosen in product((False, True), repeat=len(open_days))
    ]
    best = []
    for top, *below in groups:
        found: dict[frozenset[date], float] = {}
        for days in sets:
            ways = {frozenset(days): _alone(top, terms, {top.id: days}, top)}
            for each in below:
                alone = {s: _alone(each, terms, {top.id: days, each.id: s}, top) for s in sets}
                ways = _joined(ways, {frozenset(s): price for s, price in alone.items()})
            for used, price in ways.items():
                found[used] = min(price, found.get(used, float("inf")))
        best.append(found)
    total = _joined(*best)
    return min(price + terms.cost_of_visit * len(days) for days, price in total.items())


def _joined(one, other):
    """Cheapest of two parts for each set of days that both together use."""
    joined: dict[frozenset[date], float] = {}
    for (days, price), (more, extra) in product(one.items(), other.items()):
        if price + extra < joined.get(days | more, float("inf")):
            joined[days | more] = price + extra
    return joined


def _alone(one: VisitItem, terms: VisitTerms, done, top: VisitItem) -> float:
    """What an item costs beside its visits; infinite where it is late and may not be."""
    costs = costs_of_visits([one], terms, done)
    if costs.overdue_safety_days > _unavoidable([one], terms):
        return float("inf")
    return costs.given_up + costs.lateness
