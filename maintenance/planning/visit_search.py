"""Good visits found by trying: days are dropped, moved and added as long as that pays.

The constraint model proves little about a car with dozens of recurring items. On given days of
visits, though, the best use of them follows at once: each item waits for the last day before it is
late. So the search is over sets of days alone, and the model begins at what it finds.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from math import inf
from random import Random

from maintenance.planning.visit_lines import Line, lines_of
from maintenance.planning.visit_use import Uses
from maintenance.planning.visit_weeks import Free, take, taken
from maintenance.planning.visits import VisitItem, VisitTerms

#: Rounds of trying all moves after a shake, for a unit of effort.
SHAKES_A_UNIT = 12
#: How many days of the model to either side a visit is moved at most.
REACH = 6


def search_visits(
    items: Sequence[VisitItem],
    terms: VisitTerms,
    days: Sequence[date],
    seed: int,
    effort: float,
    free: Free | None = None,
    begin: Sequence[date] | None = None,
) -> dict[str, list[date]] | None:
    """Find days for the items of one car.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due on the car.
    terms : VisitTerms
        What visits cost and when they can be.
    days : sequence of datetime.date
        Days on which a visit may be, in order.
    seed : int
        Seed of the shakes; the same seed gives the same days.
    effort : float
        How long to try [units of effort].
    free : dict of int to int, optional
        What the workshop has left in each week [min]; what this car takes is taken off. None for
        no limit.
    begin : sequence of datetime.date, optional
        Visits to begin from; else, or where something would be late with these alone, every item
        begins on its own best days.

    Returns
    -------
    dict of str to list of date, or None
        Days on which each item is done, by its id; none where a safety item would be late or
        the workshop's hours do not reach.

    Notes
    -----
    No item that may not be late is. On fixed days of visits the last day in time is the best for
    an item that may not be late; for one that may, the cheaper of the days before and after is
    taken.

    References
    ----------
    .. [1] Lourenço, H. R., Martin, O. C. & Stützle, T. (2003), Iterated local search, in:
       Handbook of Metaheuristics.
    """
    if not days:
        return None
    lines = lines_of(items, terms, apart=free is not None)
    search = _Search(lines, terms, [day.toordinal() for day in days], free)
    told = tuple(day.toordinal() for day in begin or ())
    best = search.descend(told if search.price(told) < inf else search.start())
    shaken = Random(seed)
    for _ in range(int(effort * SHAKES_A_UNIT)):
        tried = search.descend(search.shake(best, shaken))
        if search.price(tried) < search.price(best):
            best = tried
    if search.price(best) == inf:
        return None
    found = search.days_of(best)
    if free is not None:
        take(free, taken(items, found))
    return found


def last_days_in_time(
    items: Sequence[VisitItem], terms: VisitTerms, days: Sequence[date], free: Free
) -> dict[str, list[date]] | None:
    """Place each item of one car as late as it may be, without a thought for visits.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due on the car and may not be late.
    terms : VisitTerms
        What visits cost and when they can be.
    days : sequence of datetime.date
        Days on which a visit may be, in order.
    free : dict of int to int
        What the workshop has left in each week [min]; what this car takes is taken off.

    Returns
    -------
    dict of str to list of date, or None
        Days on which each item is done, by its id; none where the workshop's hours do not reach.

    References
    ----------
    .. [1] Common practice.
    """
    every = tuple(day.toordinal() for day in days)
    search = _Search(lines_of(items, terms, apart=True), terms, every, free)
    if search.price(every) == inf:
        return None
    found = search.days_of(every)
    take(free, taken(items, found))
    return found


class _Search:
    """Sets of days for one car, their prices and the moves between them."""

    def __init__(
        self, lines: Sequence[Line], terms: VisitTerms, days: Sequence[int], free: Free | None
    ) -> None:
        self.lines, self.days, self.free = lines, days, free
        self.uses = Uses(lines, terms.until.toordinal() + 1)
        self.cost = {day: terms.visit_cost(date.fromordinal(day)) for day in days}
        self.place = {day: number for number, day in enumerate(days)}
        self.known: dict[tuple[int, ...], float] = {}

    def start(self) -> tuple[int, ...]:
        """Every line on its own best days."""
        found = self.uses.of(self.days, self.days[0], self._left())
        return tuple(sorted({day for done in found[0] for day in done})) if found else ()

    def _left(self) -> Free | None:
        return None if self.free is None else dict(self.free)

    def price(self, visits: tuple[int, ...]) -> float:
        """What the visits and their best use cost; infinite where something would be late."""
        if visits not in self.known:
            self.known[visits] = self._priced(visits)
        return self.known[visits]

    def _priced(self, visits: tuple[int, ...]) -> float:
        found = self.uses.of(visits, self.days[0], self._left())
        if found is None:
            return inf
        return found[1] + sum(self.cost[day] for day in {day for done in found[0] for day in done})

    def descend(self, visits: tuple[int, ...]) -> tuple[int, ...]:
        """Take each move that pays until none does; visits are dropped before any is moved."""
        best = visits
        while True:
            before = self.price(best)
            best = self._each(best, self._without)
            if self.price(best) < before:
                continue
            best = self._each(best, self._elsewhere)
            best = self._each(best, self._merged)
            if self.price(best) >= before:
                return best

    def _each(
        self,
        visits: tuple[int, ...],
        moves: Callable[[tuple[int, ...], int], Iterable[tuple[int, ...]]],
    ) -> tuple[int, ...]:
        """Try the moves of one visit after the other, and go on from what pays."""
        best = visits
        for day in visits:
            if day in best:
                tried = min(moves(best, day), key=self.price, default=best)
                if self.price(tried) < self.price(best):
                    best = tried
        return best

    def _without(self, visits: tuple[int, ...], day: int) -> Iterable[tuple[int, ...]]:
        yield tuple(other for other in visits if other != day)

    def _elsewhere(self, visits: tuple[int, ...], day: int) -> Iterable[tuple[int, ...]]:
        rest = {other for other in visits if other != day}
        for other in self._near(day):
            yield tuple(sorted({*rest, other}))

    def _merged(self, visits: tuple[int, ...], day: int) -> Iterable[tuple[int, ...]]:
        """Two visits after each other in one: on a day near the earlier of them."""
        place = visits.index(day)
        rest = visits[:place] + visits[place + 2 :]
        for other in (*self._near(day), day) if place + 1 < len(visits) else ():
            yield tuple(sorted({*rest, other}))

    def _near(self, day: int) -> Sequence[int]:
        place = self.place[day]
        around = self.days[max(0, place - REACH) : place + REACH + 1]
        return [other for other in around if other != day]

    def shake(self, visits: tuple[int, ...], shaken: Random) -> tuple[int, ...]:
        """Leave out some visits, put in others."""
        kept = {day for day in visits if shaken.random() > 0.2}
        added = shaken.sample(self.days, min(len(self.days), 1 + len(visits) // 5))
        return tuple(sorted({*kept, *added, *self._forced()}))

    def _forced(self) -> set[int]:
        """First days of the lines, without which a shaken set could do nothing in time."""
        found = self.uses.of(self.days, self.days[0])
        return {done[0] for done in found[0] if done} if found else set()

    def days_of(self, visits: tuple[int, ...]) -> dict[str, list[date]]:
        """Days on which each item is done."""
        found = self.uses.of(visits, self.days[0], self._left())
        every = found[0] if found else [[] for _ in self.lines]
        return {
            item: [date.fromordinal(day) for day in done]
            for line, done in zip(self.lines, every, strict=True)
            for item in line.items
        }
