"""The choice of visits as a covering problem: each time that an item is done covers some days.

A day is covered for an item while its last time lies less than an interval back. Days covered twice
are life given up, days not covered are late. So a plan is a choice of zeros and ones without any
order of times, and leaving out that they are whole says nearly what the best plan costs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from maintenance.planning.visit_lines import Line
from maintenance.planning.visits import VisitTerms

#: First and last of some days in a row on one of which a car can come [ordinals].
Days = tuple[int, int]
#: For some days the choices by which a line begins anew then; at most one of them is worth taking.
Events = dict[Days, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Row:
    """Choices of which a least sum is taken.

    Parameters
    ----------
    choices : dict of int to int
        Factor of each choice [-].
    least : int
        Least sum [-].
    item : str
        Id of the item that demands it; empty for what holds of itself.

    References
    ----------
    .. [1] Common practice.
    """

    choices: dict[int, int]
    least: int
    item: str = ""


@dataclass(slots=True)
class Cover:
    """Choices of zero or one, what they cost and which rows they must fill.

    Parameters
    ----------
    terms : VisitTerms
        What visits cost.
    least_life : float
        Price of a day early where nothing is lost by it [minor units per day].
    prices : list of float
        Of each choice [minor units].
    fixed : float
        What is added whatever is chosen [minor units].
    rows : list of Row
        All of them must hold.
    visits : dict of (str, Days) to int
        Choice that a car comes on some days.
    done : dict of (str, Days) to int
        Choice that a line is work of its own then, by the id of its first item.
    lines : list of Line
        All of them.

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Management Science 5(1): visits as set-ups, life
       given up as carrying.
    """

    terms: VisitTerms
    least_life: float = 0.0
    prices: list[float] = field(default_factory=list)
    fixed: float = 0.0
    rows: list[Row] = field(default_factory=list)
    visits: dict[tuple[str, Days], int] = field(default_factory=dict)
    done: dict[tuple[str, Days], int] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)

    @property
    def end(self) -> int:
        """First day after the period [ordinal]."""
        return self.terms.until.toordinal() + 1

    def add_car(self, vehicle: str, lines: Sequence[Line], days: Sequence[Days]) -> None:
        """Add the choices and rows of one car.

        Parameters
        ----------
        vehicle : str
            The car.
        lines : sequence of Line
            What falls due on it, settlers before what they settle.
        days : sequence of Days
            When it can come, in order.

        Notes
        -----
        Several days in a row are one choice, which covers what any of them would and costs what the
        cheapest would: what comes out is then no plan, but no plan costs less.

        References
        ----------
        .. [1] Common practice.
        """
        for first, last in days:
            every_day = map(date.fromordinal, range(first, last + 1))
            price = self._choice(min(map(self.terms.visit_cost, every_day)))
            self.visits[vehicle, (first, last)] = price
        every: list[dict[Days, int]] = []
        for line in lines:
            own = {day: self._choice(0.0) for day in days}
            for day, choice in own.items():
                self.done[line.items[0], day] = choice
                self.rows.append(Row({self.visits[vehicle, day]: 1, choice: -1}, 0))
            every.append(own)
            events = self._events(own, [every[place] for place in line.settlers])
            if line.interval is None:
                self._once(line, own, events)
            else:
                self._again(line, line.interval, events)
        self.lines += lines

    def _choice(self, price: float) -> int:
        self.prices.append(price)
        return len(self.prices) - 1

    def _events(self, own: dict[Days, int], above: Sequence[dict[Days, int]]) -> Events:
        events: Events = {}
        if len(above) < 2:
            for day, choice in own.items():
                events[day] = (choice, *(other[day] for other in above))
            return events
        for day, choice in own.items():
            some = [choice, *(other[day] for other in above)]
            # Two settlers on one day begin one interval and not two.
            event = self._choice(0.0)
            self.rows += [Row({event: 1, one: -1}, 0) for one in some]
            self.rows.append(Row({event: -1} | dict.fromkeys(some, 1), 0))
            events[day] = (event,)
        return events

    def _once(self, line: Line, own: dict[Days, int], events: Events) -> None:
        """Something done once; where another's work settles it nothing is given up."""
        # Without this row it could be taken at every visit from its due day on: that costs nothing.
        self.rows.append(Row(dict.fromkeys(own.values(), -1), -1))
        for (_, last), choice in own.items():
            self.prices[choice] += self._life(line) * max(0, line.due - last)
        firsts = sorted(first for first, _ in events)
        if line.late is None:
            limit = firsts[0] if line.at_start and firsts else line.due
            self._demand(line, _begun(events, limit))
            return
        stops = [line.due, *(day for day in firsts if day > line.due), self.end]
        for start, stop in zip(stops, stops[1:], strict=False):
            self._gap(_begun(events, start), line.late * (stop - start))

    def _again(self, line: Line, interval: int, events: Events) -> None:
        """Something done again: overlaps are life given up, gaps are late or may not be."""
        end, life = self.end, self._life(line)
        # A settler may begin an interval anew that lasts beyond the end: all of the rest is lost.
        last = end + interval if line.settlers else end
        for (_, day), choices in events.items():
            for choice in choices:
                self.prices[choice] += life * (min(day + interval, last) - day)
        self.fixed -= life * (last - line.due)
        if line.late is None:
            self._in_time(line, interval, events)
        begins = {first for first, _ in events} | {day + interval for _, day in events}
        stops = sorted({day for day in begins if line.due < day < last} | {line.due, end, last})
        for start, stop in zip(stops, stops[1:], strict=False):
            price = life + (line.late or 0.0) if start < end else life
            if line.late is not None or start >= end:
                self._gap(_covering(events, start, interval), price * (stop - start))

    def _in_time(self, line: Line, interval: int, events: Events) -> None:
        """Cover every day; it suffices to ask on the last days before the next visit can be."""
        firsts = sorted(first for first, _ in events)
        from_on = line.due
        if line.at_start and firsts:
            # Until the first visit nobody can mend what is due.
            from_on = firsts[0]
            self.fixed += self._life(line) * (from_on - line.due)
            self._demand(line, _begun(events, from_on))
        for day in [*(first - 1 for first in firsts), self.end - 1]:
            if day >= from_on:
                self._demand(line, _covering(events, day, interval))

    def _life(self, line: Line) -> float:
        return max(line.life, self.least_life)

    def _demand(self, line: Line, choices: Sequence[int]) -> None:
        self.rows.append(Row(dict.fromkeys(choices, 1), 1, line.items[0]))

    def _gap(self, choices: Sequence[int], price: float) -> None:
        """Days that are either covered or paid for."""
        if price > 0:
            self.rows.append(Row(dict.fromkeys([*choices, self._choice(price)], 1), 1))


def _begun(events: Events, day: int) -> list[int]:
    """Choices up to a day."""
    return [one for (first, _), some in events.items() if first <= day for one in some]


def _covering(events: Events, day: int, interval: int) -> list[int]:
    """Choices that cover a day."""
    return [
        one
        for (first, last), some in events.items()
        if first <= day < last + interval
        for one in some
    ]
