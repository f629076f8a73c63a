"""Visits of one car by itself: bounded, found by trying, and chosen exactly from few days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from time import monotonic

from maintenance.planning.problem import Settings
from maintenance.planning.solving import until
from maintenance.planning.visit_costs import by_itself, costs_of_visits
from maintenance.planning.visit_exact import best_use, relaxed
from maintenance.planning.visit_habits import each_on_its_day, everything_yearly
from maintenance.planning.visit_lines import Line, lines_of
from maintenance.planning.visit_model import days_for
from maintenance.planning.visit_search import search_visits
from maintenance.planning.visits import VisitItem, VisitTerms

#: Most days of which the best are chosen exactly, and most that the relaxation may use for it: a
#: little of many days says nothing about which of them are good.
FEW_DAYS = 24
MOST_USED = 32
#: How often the days that follow from the visits found are looked at.
ROUNDS = 3
#: What a plan may cost more than the bound and be called the best [minor units].
NOTHING = 0.5


@dataclass(frozen=True, slots=True)
class CarPlan:
    """Visits of one car.

    Parameters
    ----------
    done : dict of str to list of date
        Days on which each item is work of its own, by its id.
    bound : float
        No plan on any open days totals less [minor units].

    References
    ----------
    .. [1] Common practice.
    """

    done: dict[str, list[date]]
    bound: float


def plan_car(
    items: Sequence[VisitItem], terms: VisitTerms, settings: Settings, cars: int = 1
) -> CarPlan | None:
    """Plan one car that has the workshop for itself.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due on the car.
    terms : VisitTerms
        What visits cost and when they can be.
    settings : Settings
        Seed, effort, and the emergency stop by the clock.
    cars : int
        How many cars are asked about in all.

    Returns
    -------
    CarPlan or None
        None where no plan is in time.

    References
    ----------
    .. [1] Common practice.
    """
    stop = monotonic() + settings.seconds
    lines = lines_of(items, terms)
    if not lines:
        return CarPlan({item.id: [] for item in items}, 0.0)
    every = terms.open_days()
    found = relaxed(lines, terms, settings, cars)
    bound = found.bound if found is not None else 0.0
    plans = _Plans(items, terms)
    used = found.days if found is not None and len(found.days) <= MOST_USED else ()
    wanted = {every[0].toordinal(), *used}
    # What loses nothing by being early waits for its day all the same, if a visit is there.
    for due in [line.due for line in lines if line.life == 0]:
        wanted |= set([day.toordinal() for day in every if day.toordinal() <= due][-1:])
    for number in range(ROUNDS):
        before = plans.total
        plans.offer(best_use(lines, terms, sorted(wanted), until(stop, settings)))
        if plans.best is None:
            narrow = days_for(items, terms, every)
            plans.offer(search_visits(items, terms, narrow, settings.seed, 0.0))
        if plans.best is None:
            return None
        if plans.total > bound + NOTHING:
            effort = settings.effort / 9 if number == 0 else 0.0
            begin = plans.visits()
            plans.offer(search_visits(items, terms, every, settings.seed, effort, begin=begin))
        if plans.total <= bound + NOTHING or plans.total >= before or monotonic() > stop:
            break
        wanted = _that_follow(lines, [day.toordinal() for day in plans.visits()], every)
    for habit in (each_on_its_day, everything_yearly):
        plans.offer_in_time(habit(items, terms))
    return CarPlan(plans.best or {}, bound)


@dataclass(slots=True)
class _Plans:
    """The best of the plans offered."""

    items: Sequence[VisitItem]
    terms: VisitTerms
    best: dict[str, list[date]] | None = None
    total: float = float("inf")

    def offer(self, done: dict[str, list[date]] | None) -> None:
        if done is None:
            return
        total = costs_of_visits(self.items, self.terms, done).total
        if total < self.total:
            self.best, self.total = done, total

    def offer_in_time(self, done: dict[str, list[date]]) -> None:
        """Offer what may be late for safety, and take it only where it is not."""
        late = costs_of_visits(self.items, self.terms, done).overdue_safety_days
        now = costs_of_visits(self.items, self.terms, self.best or {}).overdue_safety_days
        if late <= now:
            self.offer({item.id: by_itself(item, done) for item in self.items})

    def visits(self) -> list[date]:
        return sorted({day for days in (self.best or {}).values() for day in days})


def _that_follow(lines: Sequence[Line], visits: Sequence[int], every: Sequence[date]) -> set[int]:
    """Give the visits and the last days in time of what they begin anew, as many as are few.

    Any visit of a best plan can be put off until something of it falls due.
    """
    intervals = sorted({line.interval for line in lines if line.interval is not None})
    open_days = [day.toordinal() for day in every]
    found = {*visits, open_days[0]}
    for interval in intervals:
        dues = [visit + interval for visit in visits if visit + interval <= open_days[-1]]
        last = {max((day for day in open_days if day <= due), default=open_days[0]) for due in dues}
        if len(found | last) <= FEW_DAYS:
            found |= last
    return found
