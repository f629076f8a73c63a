"""The visit plan: the coming months' due items of some cars in as few and as late visits as pay."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from maintenance.planning.conflict import Conflict, smallest_conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.problem import Settings
from maintenance.planning.solving import Objective, minimise_in_turn
from maintenance.planning.visit_car import NOTHING, plan_car
from maintenance.planning.visit_costs import VisitCosts, costs_of_visits, visits_of
from maintenance.planning.visit_exact import relaxed
from maintenance.planning.visit_habits import each_on_its_day, everything_yearly
from maintenance.planning.visit_lines import lines_of
from maintenance.planning.visit_model import VisitModel, days_for, due_days, visit_model
from maintenance.planning.visit_search import last_days_in_time, search_visits
from maintenance.planning.visit_weeks import Free, take, taken, too_full, week_hours
from maintenance.planning.visits import Visit, VisitItem, VisitTerms, checked_items

#: Most choices of a constraint model that is worth building: beyond them it proves nothing more.
LARGEST = 12_000
#: Most choices for which it is asked why there are no visits.
LARGEST_QUESTIONED = 60_000
#: Most cars that get the whole effort each.
MANY = 12


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """Visits, what they cost, and what two common habits would cost.

    Parameters
    ----------
    visits : tuple of Visit
        In the order of days.
    costs : VisitCosts
        Of this plan.
    bound : float
        Proven: no plan on any open days totals less, even without weekly hours [minor units].
    each_on_its_day, everything_yearly : VisitCosts
        Of the habits, for the same items and terms.

    References
    ----------
    .. [1] Common practice.
    """

    visits: tuple[Visit, ...]
    costs: VisitCosts
    bound: float
    each_on_its_day: VisitCosts
    everything_yearly: VisitCosts

    @property
    def gap(self) -> float:
        """Most by which a better plan could beat this one [minor units]; half of one is nothing."""
        short = self.costs.total - self.bound
        return short if short >= NOTHING else 0.0


def plan_visits(
    items: Sequence[VisitItem], terms: VisitTerms, settings: Settings | None = None
) -> VisitPlan | Conflict:
    """Group due items into visits.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due, of one car or of many.
    terms : VisitTerms
        What visits cost and when they can be.
    settings : Settings, optional
        Seed and effort.

    Returns
    -------
    VisitPlan or Conflict
        No safety item is late, what was due at the start is done on the first open day; or
        the smallest set of demands that can't hold together.

    Raises
    ------
    PlanningError
        Where an item or a term makes no sense, or the effort was too small for an answer.

    Notes
    -----
    Of more than `MANY` cars each is tried for less long, or an answer would take minutes. Without
    weekly hours each car is planned by itself. With them cars are planned one after the
    other, each within what the workshop's weeks have left beside the work of the others that may
    not be late: that of all cars finds its place first. Days are first found by trying; all cars
    together, of a size that the constraint model can take, are then planned by that, beginning from
    what was found.

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Dynamic version of the economic lot size model,
       Management Science 5(1), 89-96.
    """
    settings = settings or Settings()
    cars = len({item.vehicle for item in items})
    settings = replace(settings, effort=settings.effort * min(1, MANY / max(cars, 1)))
    checked_items(items, terms)
    if (full := too_full(items, terms)) is not None:
        return full
    fleets = [[i for i in items if i.vehicle == v] for v in dict.fromkeys(i.vehicle for i in items)]
    found = _car_by_car(fleets, terms, settings)
    if isinstance(found, Conflict):
        return found
    if isinstance(found, str) or (
        terms.hours_per_week is not None and _size(items, terms) <= LARGEST
    ):
        together = _together(items, terms, settings, found)
        if isinstance(together, Conflict):
            return together
        found = together
    done, bound = found
    return VisitPlan(
        visits=visits_of(items, done),
        costs=costs_of_visits(items, terms, done),
        bound=bound,
        each_on_its_day=costs_of_visits(items, terms, each_on_its_day(items, terms)),
        everything_yearly=costs_of_visits(items, terms, everything_yearly(items, terms)),
    )


_Found = tuple[dict[str, list[date]], float]


def _size(items: Sequence[VisitItem], terms: VisitTerms) -> int:
    """Number of choices of the constraint model, by an upper estimate."""
    weeks = (terms.until - terms.on).days // 7 + 2
    times = sum(len(due_days(item, terms)) + 1 for item in items)
    return times * (weeks + len(items))


def _car_by_car(
    fleets: Sequence[Sequence[VisitItem]], terms: VisitTerms, settings: Settings
) -> _Found | Conflict | str:
    """Plan each car within what those before it left; the car's name where one finds no room.

    Without weekly hours a car that finds none asks for what can't be, and that is told.
    """
    free = week_hours(terms)
    if free is not None:
        return _in_weeks(fleets, terms, settings, free)
    done: dict[str, list[date]] = {}
    bound = 0.0
    for own in fleets:
        planned = plan_car(own, terms, settings, len(fleets))
        if planned is None:
            return _conflict(own, terms, settings)
        done |= planned.done
        bound += planned.bound
    return done, bound


def _in_weeks(
    fleets: Sequence[Sequence[VisitItem]], terms: VisitTerms, settings: Settings, free: Free
) -> _Found | str:
    done: dict[str, list[date]] = {}
    bound = 0.0
    kept = _safety_first(fleets, terms, free)
    if isinstance(kept, str):
        return kept
    for own in fleets:
        take(free, taken(own, kept), sign=-1)
        alone = plan_car(own, terms, settings, len(fleets))
        placed = alone.done if alone is not None else None
        if placed is not None and _fits(taken(own, placed), free):
            take(free, taken(own, placed))
        else:
            near = {
                day
                for each in (placed or {}, kept)
                for item in own
                for day in each.get(item.id, ())
            }
            days = sorted({*days_for(own, terms, terms.open_days()), *near})
            placed = search_visits(
                own, terms, days, settings.seed, settings.effort / 6, free, begin=sorted(near)
            )
        if placed is None:
            # What may be late is left undone: what may not has its place.
            placed = {item.id: kept.get(item.id, []) for item in own}
            take(free, taken(own, kept))
        done |= placed
        bound += alone.bound if alone is not None else 0.0
    return done, bound


def _fits(work: Free, free: Free) -> bool:
    return all(minutes <= free[week] for week, minutes in work.items())


def _safety_first(
    fleets: Sequence[Sequence[VisitItem]], terms: VisitTerms, free: Free
) -> dict[str, list[date]] | str:
    """Place what may not be late of all cars; the name of one that finds no room."""
    kept: dict[str, list[date]] = {}
    for own in fleets:
        must = [item for item in own if not item.may_be_late]
        days = days_for(must, terms, terms.open_days())
        placed = last_days_in_time(must, terms, days, free) if must else {}
        if placed is None:
            return own[0].vehicle
        kept |= placed
    return kept


def _together(
    items: Sequence[VisitItem], terms: VisitTerms, settings: Settings, found: _Found | str
) -> _Found | Conflict:
    """Plan all cars in one model; where that is too large, say which car finds no room."""
    if isinstance(found, tuple):
        solved = _solve(items, terms, settings, found[0])
        if solved is None:
            return found
        cheaper = min(solved, found[0], key=lambda done: costs_of_visits(items, terms, done).total)
        return cheaper, found[1]
    if _size(items, terms) > LARGEST_QUESTIONED:
        raise PlanningError(
            f"{found} finds no room in weeks of {terms.hours_per_week:g} h beside the cars before "
            "it; raise `hours_per_week`, or ask about fewer cars"
        )
    solved = _solve(items, terms, settings, None)
    if solved is None:
        return _conflict(items, terms, settings)
    # What the model proves holds for its own days alone; what the cars' relaxations do, for all.
    cars = [[i for i in items if i.vehicle == v] for v in {i.vehicle: None for i in items}]
    bounds = [relaxed(lines_of(own, terms), terms, settings, len(cars)) for own in cars]
    return solved, sum(each.bound for each in bounds if each is not None)


def _solve(
    items: Sequence[VisitItem],
    terms: VisitTerms,
    settings: Settings,
    placed: dict[str, list[date]] | None,
) -> dict[str, list[date]] | None:
    """Days on which each item is done; none where there are none."""
    model = visit_model(items, terms)
    if placed is not None:
        _hint(model, placed)
    price = Objective("visits", "minor units", model.price)
    reached = minimise_in_turn(model.cp, [price], settings, list(model.done.values()))
    if reached is None:
        return None
    done: dict[str, list[date]] = {item.id: [] for item in items}
    for (item, day), chosen in model.done.items():
        if reached.values[chosen.index]:
            done[item].append(day)
    return done


def _hint(model: VisitModel, placed: dict[str, list[date]]) -> None:
    """Begin the search from days found before."""
    for (item, day), chosen in model.done.items():
        model.cp.add_hint(chosen, day in placed.get(item, ()))


def _conflict(items: Sequence[VisitItem], terms: VisitTerms, settings: Settings) -> Conflict:
    model = visit_model(items, terms, questioned=True)
    weeks = [pair for pair in model.demands if pair[0].kind == "week"]
    others = [pair for pair in model.demands if pair[0].kind != "week"]
    return smallest_conflict(model.cp, [*weeks, *others], settings)
