"""The best use of given days of visits: when each line is done, and what that costs beside them."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import inf

from maintenance.planning.visit_lines import Line
from maintenance.planning.visit_weeks import Free, monday

#: How many visits before its last day in time a line is tried on that settles others.
PULLED = 8

#: Days on which lines are work of their own, in the order of lines, and their price.
Use = tuple[list[list[int]], float]


@dataclass(slots=True)
class Uses:
    """Best uses of sets of days for the lines of one car.

    Parameters
    ----------
    lines : sequence of Line
        What falls due on the car, settlers before what they settle.
    end : int
        First day after the period [ordinal].

    Notes
    -----
    On given days the last one in time is best for what may not be late and settles nothing: it is
    then done least often. What settles others and nothing else settles is placed by recursion: once
    it is done, all that it settles begins anew, so that what was before no longer matters.

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Management Science 5(1): the recursion from one
       set-up to the next.
    """

    lines: Sequence[Line]
    end: int
    _below: list[list[Line]] = field(init=False)
    _spans: dict[object, float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Gather what each line settles."""
        self._below = [
            [line for line in self.lines if number in line.settlers]
            for number in range(len(self.lines))
        ]

    def of(self, days: Sequence[int], first: int, free: Free | None = None) -> Use | None:
        """Give the best use of some days.

        Parameters
        ----------
        days : sequence of int
            Days of visits, in order [ordinals].
        first : int
            First day on which a visit may be, by which what is due at the start must be done.
        free : dict of int to int, optional
            What the workshop has left in each week [min]; what is used is taken off.

        Returns
        -------
        (list of list of int, float) or None
            For each line the days on which it is work of its own, and the price of life given up
            and lateness [minor units]; none where a line would be late and may not.

        References
        ----------
        .. [1] Common practice.
        """
        if free is None:
            return self._placed(days, first, None, pulled=True)
        for pulled in (True, False):
            left = dict(free)
            found = self._placed(days, first, left, pulled=pulled)
            if found is not None:
                free.update(left)
                return found
        return None

    def _placed(
        self, days: Sequence[int], first: int, free: Free | None, *, pulled: bool
    ) -> Use | None:
        every: list[list[int]] = []
        total = 0.0
        for number, line in enumerate(self.lines):
            settled = sorted({day for place in line.settlers for day in every[place]})
            found = None
            if pulled and self._below[number] and not line.settlers and line.late is None:
                found = _as_wanted(line, self._pulled(number, days, first), free)
            if found is None:
                limit = first if line.at_start else line.due
                found = doings(line, days, self.end, limit, settled, free)
            if found is None:
                return None
            every.append(found[0])
            total += found[1]
        return every, total

    def _pulled(self, number: int, days: Sequence[int], first: int) -> tuple[int, ...]:
        """Days of a line that settles others, so that both together cost least."""
        line, below = self.lines[number], self._below[number]
        known: dict[int, tuple[float, tuple[int, ...]]] = {}

        def rest(last: int) -> tuple[float, tuple[int, ...]]:
            if last not in known:
                known[last] = after(last)
            return known[last]

        def after(last: int) -> tuple[float, tuple[int, ...]]:
            due, limit = line.due, first if line.at_start else line.due
            if last >= 0:
                due = limit = line.after(last, self.end)
            if due >= self.end:
                return sum(self._span(each, last, self.end, days, first) for each in below), ()
            place = bisect_right(days, limit)
            best: tuple[float, tuple[int, ...]] = (inf, ())
            for day in reversed(days[max(0, place - PULLED) : place]):
                if day <= last:
                    break
                price = line.given_up(due, day)
                price += sum(self._span(each, last, day, days, first) for each in below)
                if price < best[0]:
                    later, then = rest(day)
                    best = min(best, (price + later, (day, *then)), key=lambda one: one[0])
            return best

        return rest(-1)[1]

    def _span(self, line: Line, last: int, until: int, days: Sequence[int], first: int) -> float:
        """Price of a line from one day on which it begins anew to the next, or to the end."""
        within = tuple(days[bisect_right(days, last) : bisect_left(days, until)])
        key = (line.items[0], last, until, within)
        if key not in self._spans:
            limit = first if line.at_start else line.due
            if last >= 0:
                limit = line.after(last, self.end)
                line = replace(line, due=limit, at_start=False)
            self._spans[key] = self._span_price(line, limit, until, within)
        return self._spans[key]

    def _span_price(self, line: Line, limit: int, until: int, within: Sequence[int]) -> float:
        if until <= limit and line.due < until:
            # Due at the start and settled at the first visit.
            return (line.late or 0.0) * (until - line.due)
        found = doings(line, within, until, limit)
        if found is None:
            return inf
        if until == self.end or line.interval is None:
            return found[1]
        due = line.after(found[0][-1], self.end) if found[0] else line.due
        return found[1] + line.given_up(due, until)


def _as_wanted(
    line: Line, wanted: Sequence[int], free: Free | None
) -> tuple[list[int], float] | None:
    """Place a line on days that were chosen for it; none where a week is too full for one."""
    if not wanted or (free is not None and not all(_fits(line, day, free) for day in wanted)):
        return None
    price, due = 0.0, line.due
    for day in wanted:
        price += line.given_up(due, day)
        due = line.after(day, due)
        if free is not None:
            free[monday(day)] -= line.minutes
    return list(wanted), price


def doings(
    line: Line,
    days: Sequence[int],
    end: int,
    limit: int,
    settled: Sequence[int] = (),
    free: Free | None = None,
) -> tuple[list[int], float] | None:
    """Place one line on given days.

    Parameters
    ----------
    line : Line
        What falls due.
    days : sequence of int
        Days of visits, in order [ordinals].
    end : int
        First day after the period [ordinal].
    limit : int
        Day by which the first time must be [ordinal].
    settled : sequence of int
        Days on which others do its work, in order [ordinals].
    free : dict of int to int, optional
        What the workshop has left in each week [min]; what is used is taken off.

    Returns
    -------
    (list of int, float) or None
        Days on which it is work of its own and the price of life given up and lateness
        [minor units]; none where it would be late and may not.

    References
    ----------
    .. [1] Common practice.
    """
    if line.late is None and not settled and free is None:
        return _last_in_time(line, days, end, limit)
    done: list[int] = []
    price, due, last, now = 0.0, line.due, -1, 0
    while due < end or now < len(settled):
        by_others = settled[now] if now < len(settled) else end
        place = _Place(due, limit, last, by_others, end)
        own = None if due >= end else _own_day(line, days, place, free)
        if own is None and by_others >= end:
            return None if line.late is None else (done, price + line.late * (end - due))
        if own is None and line.late is None and by_others > limit and due < end:
            return None
        day = by_others if own is None else own
        if own is not None:
            done.append(day)
            if free is not None:
                free[monday(day)] -= line.minutes
        if line.interval is not None or own is not None:
            price += line.given_up(due, day)
        price += (line.late or 0.0) * max(0, day - due)
        if line.interval is None:
            break
        now += own is None
        last, due = day, max(due, day + line.interval)
        limit = due
    return done, price


def _last_in_time(
    line: Line, days: Sequence[int], end: int, limit: int
) -> tuple[list[int], float] | None:
    """Place what may not be late and nothing settles, which most lines are."""
    done: list[int] = []
    early, due, last, interval = 0, line.due, -1, line.interval
    while due < end:
        place = bisect_right(days, limit) - 1
        if place < 0 or days[place] <= last:
            return None
        last = days[place]
        done.append(last)
        if interval is None:
            return done, line.given_up(due, last)
        early += min(max(0, due - last), interval)
        due = limit = max(due, last + interval)
    return done, early * line.life


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a line stands: due, done by when, done when, and settled when, if before the end."""

    due: int
    limit: int
    last: int
    by_others: int
    end: int


def _own_day(line: Line, days: Sequence[int], now: _Place, free: Free | None) -> int | None:
    """Next day of a line's own work; none where others settle it first, or where it has none."""
    if now.by_others < now.end and now.by_others <= max(now.limit, now.due):
        return None
    start, place = bisect_right(days, now.last), bisect_right(days, now.limit)
    if free is None:
        before = days[place - 1] if place > start else None
    else:
        before = next((day for day in reversed(days[start:place]) if _fits(line, day, free)), None)
    if line.late is None:
        return before
    stop = bisect_left(days, now.by_others)
    after = next((day for day in days[max(start, place) : stop] if _fits(line, day, free)), None)
    if before is None:
        return after
    early = line.given_up(now.due, before)
    if line.interval is not None and now.by_others < now.end:
        # Work of its own now is lost for the part that the settler begins anew.
        early += line.life * max(0, before + line.interval - now.by_others)
    wait = now.by_others if after is None else after
    return before if early <= line.late * (wait - now.due) else after


def _fits(line: Line, day: int, free: Free | None) -> bool:
    return free is None or free[monday(day)] >= line.minutes
