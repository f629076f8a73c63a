"""Visits against Wagner, H. M. & Whitin, T. M. (1958), Dynamic version of the economic lot size
model, Management Science 5(1), 89-96: the twelve-month example, carrying cost 1 a unit and month.

Read as visits: an item for each month, whose life is worth its demand a day, on twelve days in
place of twelve months; a visit costs the month's set-up. The total of 864 is reported by many who
cite the example and was computed afresh with a general-purpose solver.
"""

from datetime import date, timedelta

from maintenance.planning.visit_plan import VisitPlan, plan_visits
from maintenance.planning.visits import VisitItem, VisitTerms

DEMANDS = (69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56)
SET_UPS = (85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114)
START = date(2030, 1, 1)


def lot_sizes(months: int) -> VisitPlan:
    """Plan the first `months` months of the example."""
    days = [START + timedelta(days=month) for month in range(months)]
    items = [
        VisitItem(f"month {n}", "car", "item", day, given_up_per_day=float(DEMANDS[n]))
        for n, day in enumerate(days)
    ]
    terms = VisitTerms(START, days[-1], visit_costs=dict(zip(days, SET_UPS, strict=False)))
    plan = plan_visits(items, terms)
    assert isinstance(plan, VisitPlan), plan
    return plan


def by_recursion(months: int) -> int:
    """Cheapest lot sizes by the recursion of the paper, written out independently."""
    best = [0]
    for last in range(months):
        best.append(
            min(
                best[first]
                + SET_UPS[first]
                + sum((month - first) * DEMANDS[month] for month in range(first, last + 1))
                for first in range(last + 1)
            )
        )
    return best[months]


def test_the_twelve_month_example_costs_864():
    plan = lot_sizes(12)

    assert plan.costs.total == 864
    assert plan.gap == 0


def test_every_shorter_example_agrees_with_the_papers_recursion():
    totals = [lot_sizes(months).costs.total for months in range(1, 12)]

    assert totals == [by_recursion(months) for months in range(1, 12)]
