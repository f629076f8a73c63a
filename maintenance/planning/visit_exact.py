"""Visits of one car as an integer program: what no plan undercuts, and the best of few days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import floor
from time import monotonic

import numpy as np
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from maintenance.planning.problem import Settings
from maintenance.planning.solving import solver_for, until
from maintenance.planning.visit_cover import Cover, Days
from maintenance.planning.visit_lines import Line
from maintenance.planning.visits import VisitTerms

#: Share of a visit from which a span of days counts as used by the relaxation.
USED = 1e-6
#: Most spans that are looked at day by day in one round.
SPLIT_A_ROUND = 12
#: What a bound may be off by the solver's tolerances [minor units].
TOLERANCE = 0.01
#: Price of a day early where nothing is lost by it, so that such an item waits for its last visit
#: in time [minor units per day].
LEAST_LIFE = 1e-4
#: Prices of whole choices are in ten thousandths of a minor unit.
SCALE = 10_000
#: Most choices of a relaxation that is refined further: of all cars asked about together, and of
#: each however many they are. By size and not by the clock, so that the answer is the same on any
#: machine; with many cars each is refined less, or an answer would take minutes.
LARGEST_OF_ALL = 9_000
LARGEST = 2_500
#: Most choices of one that is asked for whole choices, and of one then refined further still.
SMALL = 1_500
TINY = 400


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What the relaxation over all open days says.

    Parameters
    ----------
    bound : float
        No plan on any open days totals less [minor units].
    days : tuple of int
        Days that it uses, the last of each span, those used most first [ordinals].

    References
    ----------
    .. [1] Common practice.
    """

    bound: float
    days: tuple[int, ...]


def relaxed(
    lines: Sequence[Line], terms: VisitTerms, settings: Settings, cars: int = 1
) -> Relaxed | None:
    """Find what no plan for one car undercuts.

    Parameters
    ----------
    lines : sequence of Line
        What falls due on the car.
    terms : VisitTerms
        What visits cost and when they can be; weekly hours are not looked at.
    settings : Settings
        Seed, effort, and the emergency stop by the clock.
    cars : int
        How many cars are asked about in all.

    Returns
    -------
    Relaxed or None
        None where nothing was found: no plan is in time, or the clock ended it.

    Notes
    -----
    A week is one choice at first. A choice of several days covers what any of them would and costs
    what the cheapest would, and choices may be taken in part: both leave every plan possible, so
    that the least cost is a bound. Spans in use are then split into their days, which raises it, as
    long as the program is not large. A small one is at last asked for whole choices.

    References
    ----------
    .. [1] Boland, N., Hewitt, M., Marshall, L. & Savelsbergh, M. (2017), The continuous-time
       service network design problem, Operations Research 65(5), 1303-1321 (from memory): refining
       time where it is used.
    """
    open_days = [day.toordinal() for day in terms.open_days()]
    starts = _first_starts(lines, open_days)
    stop = monotonic() + settings.seconds
    largest = max(LARGEST, LARGEST_OF_ALL // cars)
    best: Relaxed | None = None
    whole = False
    while True:
        spans = _spans(open_days, starts)
        cover = Cover(terms)
        cover.add_car("", lines, spans)
        size = len(cover.prices)
        if best is not None and (size > largest or monotonic() > stop):
            return best
        left = until(stop, settings)
        found = _whole(cover, left, settings.effort) if whole else _in_part(cover, left)
        if found is None:
            return best
        share = {span: found.taken[cover.visits["", span]] for span in spans}
        used = sorted((span for span in spans if share[span] > USED), key=lambda s: (-share[s], s))
        bound = max(found.bound, best.bound if best else 0.0)
        best = Relaxed(bound, tuple(last for _, last in used))
        wide = [span for span in used if span[0] < span[1]]
        if not wide or (whole and size > TINY):
            parted = any(USED < each < 1 - USED for each in share.values())
            if whole or not parted or size > SMALL:
                return best
            whole = True
            continue
        for first, last in wide[:SPLIT_A_ROUND]:
            starts |= {day for day in open_days if first <= day <= last}
            starts |= set([day for day in open_days if day > last][:1])


def best_use(
    lines: Sequence[Line], terms: VisitTerms, days: Sequence[int], settings: Settings
) -> dict[str, list[date]] | None:
    """Choose the best visits of a few days.

    Parameters
    ----------
    lines : sequence of Line
        What falls due on the car.
    terms : VisitTerms
        What visits cost.
    days : sequence of int
        Days on which the car can come, in order, the first open one among them [ordinals].
    settings : Settings
        Seed, effort, and the emergency stop by the clock.

    Returns
    -------
    dict of str to list of date, or None
        Days on which each item is work of its own, by its id; none where none was found.

    References
    ----------
    .. [1] Common practice.
    """
    cover = Cover(terms, least_life=LEAST_LIFE)
    cover.add_car("", lines, [(day, day) for day in days])
    found = _whole(cover, settings, settings.effort / 2)
    if found is None:
        return None
    return {
        item: [
            date.fromordinal(day)
            for day in days
            if found.taken[cover.done[line.items[0], (day, day)]] > 0.5
        ]
        for line in lines
        for item in line.items
    }


def _first_starts(lines: Sequence[Line], open_days: Sequence[int]) -> set[int]:
    """First days of weeks, the first open day, and the last ones before first due days."""
    weeks: dict[int, int] = {}
    for day in open_days:
        weeks.setdefault((day - 1) // 7, day)
    starts = {*weeks.values(), *open_days[:2]}
    for line in lines:
        starts |= set([day for day in open_days if day <= line.due][-1:])
        starts |= set([day for day in open_days if day > line.due][:1])
    return starts


def _spans(open_days: Sequence[int], starts: set[int]) -> list[Days]:
    spans: list[Days] = []
    for day in open_days:
        if day in starts or not spans:
            spans.append((day, day))
        else:
            spans[-1] = (spans[-1][0], day)
    return spans


@dataclass(frozen=True, slots=True)
class _Found:
    """How far each choice is taken, and what no other way undercuts [minor units]."""

    taken: Sequence[float]
    bound: float


def _in_part(cover: Cover, settings: Settings) -> _Found | None:
    """Choices that may be taken in part."""
    prices = np.array(cover.prices)
    number = [place for place, row in enumerate(cover.rows) for _ in row.choices]
    choice = [one for row in cover.rows for one in row.choices]
    factor = [one for row in cover.rows for one in row.choices.values()]
    matrix = csr_array((factor, (number, choice)), shape=(len(cover.rows), prices.size))
    found = milp(
        prices,
        constraints=LinearConstraint(matrix, lb=[row.least for row in cover.rows]),
        bounds=Bounds(0, 1),
        options={"time_limit": settings.seconds},
    )
    if found.status != 0:
        return None
    return _Found(found.x.tolist(), float(found.fun) + cover.fixed - TOLERANCE)


def _whole(cover: Cover, settings: Settings, effort: float) -> _Found | None:
    """Choices that are taken whole or not."""
    cp = cp_model.CpModel()
    choices = [cp.new_bool_var("") for _ in cover.prices]
    for row in cover.rows:
        cp.add(sum(factor * choices[one] for one, factor in row.choices.items()) >= row.least)
    # Rounded down, so that the bound is one of the true prices too.
    prices = [floor(SCALE * price) for price in cover.prices]
    cp.minimize(cp_model.LinearExpr.weighted_sum(choices, prices))
    solver = solver_for(settings, effort)
    solver.parameters.linearization_level = 2
    if solver.status_name(solver.solve(cp)) not in ("OPTIMAL", "FEASIBLE"):
        return None
    taken = [float(one) for one in solver.response_proto.solution]
    return _Found(taken, solver.best_objective_bound / SCALE + cover.fixed)
