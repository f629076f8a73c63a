"""Items that fall due together, and whose work others' does as well, as lines of a visit plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from maintenance.planning.visits import VisitItem, VisitTerms


@dataclass(frozen=True, slots=True)
class Line:
    """Items that are always done on the same days, as one.

    Parameters
    ----------
    items : tuple of str
        Their ids.
    due : int
        First due day, the first one planned for what is overdue [ordinal].
    at_start : bool
        Whether it is due by the first day, so that the first visit is soon enough.
    interval : int, optional
        Days from doing it to its next due day [days]; none for something done once.
    life : float
        What each day of doing it early throws away [minor units per day].
    late : float, optional
        Price of each day late [minor units per day]; none for what may not be late.
    minutes : int
        Work each time [min].
    settlers : tuple of int
        Lines, by their place in the list, all of them before this one, that do its work as well.

    References
    ----------
    .. [1] Common practice.
    """

    items: tuple[str, ...]
    due: int
    at_start: bool
    interval: int | None
    life: float
    late: float | None
    minutes: int
    settlers: tuple[int, ...] = ()

    def given_up(self, due: int, day: int) -> float:
        """Price the life thrown away by doing it early.

        Parameters
        ----------
        due, day : int
            Due day and day on which it is done [ordinals].

        Returns
        -------
        float
            [minor units]; no more than one time is worth.

        References
        ----------
        .. [1] Common practice.
        """
        early = max(0, due - day)
        return self.life * (early if self.interval is None else min(early, self.interval))

    def after(self, day: int, otherwise: int) -> int:
        """Give the next due day.

        Parameters
        ----------
        day : int
            Day on which it was done [ordinal].
        otherwise : int
            What to give for something done once [ordinal].

        Returns
        -------
        int
            [ordinal]; no sooner than it was due anyway.

        References
        ----------
        .. [1] Common practice.
        """
        return otherwise if self.interval is None else max(self.due, day + self.interval)


def lines_of(items: Sequence[VisitItem], terms: VisitTerms, *, apart: bool = False) -> list[Line]:
    """Gather the items of one car into lines.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due on the car.
    terms : VisitTerms
        The period.
    apart : bool
        Whether each item stays by itself, as where a week may be too short for all of a line.

    Returns
    -------
    list of Line
        What falls due in the period: what may not be late first, and what is due first of that; a
        settler goes before what it settles.

    Notes
    -----
    Items are gathered only where the same days are best for all of them whatever the visits. For
    items that may not be late and that nothing else settles these are the last days in time. Of
    others those with the same days, prices and settlers are gathered.

    References
    ----------
    .. [1] Common practice.
    """
    within = {item.id: item for item in items if max(item.due_on, terms.on) <= terms.until}
    alike: dict[object, list[list[VisitItem]]] = {}
    for group in _groups(within):
        ordered = sorted(group, key=lambda item: (_depth(item, within), _dates(item, terms)))
        sign = group[0].id if apart else _sign(ordered, terms)
        alike.setdefault(sign, []).append(ordered)
    merged = [tuple(zip(*groups, strict=True)) for groups in alike.values()]
    rows = [row for rows in merged for row in rows]
    rows.sort(key=lambda row: _rank(row[0], within))
    place = {item.id: number for number, row in enumerate(rows) for item in row}
    return [_line(row, terms, place) for row in rows]


def _groups(within: dict[str, VisitItem]) -> list[list[VisitItem]]:
    """Items that settle each other, directly or through others, together."""
    group = {key: [item] for key, item in within.items()}
    for item in within.values():
        for other in item.settled_by:
            if other in group and group[other] is not group[item.id]:
                joined = group[item.id] + group[other]
                group |= {each.id: joined for each in joined}
    return list({id(each): each for each in group.values()}.values())


def _depth(item: VisitItem, within: dict[str, VisitItem]) -> int:
    """Number of settlers above an item, one over the other."""
    above = [within[other] for other in item.settled_by if other in within]
    return 1 + max((_depth(each, within) for each in above), default=-1)


def _rank(item: VisitItem, within: dict[str, VisitItem]) -> tuple[bool, date, int]:
    """Place in the order: as pressing as the most pressing of what it settles, and before that."""
    below, waiting = [item], [item]
    while waiting:
        above = waiting.pop()
        new = [one for one in within.values() if above.id in one.settled_by and one not in below]
        below += new
        waiting += new
    return (
        all(one.may_be_late for one in below),
        min(one.due_on for one in below),
        _depth(item, within),
    )


def _dates(item: VisitItem, terms: VisitTerms) -> tuple[object, ...]:
    at_start = terms.is_due_at_start(item.due_on)
    return (max(item.due_on, terms.on), at_start, item.interval_days or 0, item.may_be_late)


def _sign(ordered: Sequence[VisitItem], terms: VisitTerms) -> object:
    """What two groups have in common that are best done on the same days."""
    only = ordered[0]
    if len(ordered) == 1 and not only.may_be_late:
        # Without life of its own any day in time is as good, and only the last one is wanted.
        return _dates(only, terms)
    place = {item.id: number for number, item in enumerate(ordered)}
    return tuple(
        (
            _dates(item, terms),
            (item.life_per_day, item.late_per_day),
            tuple(sorted(place[other] for other in item.settled_by if other in place)),
        )
        for item in ordered
    )


def _line(row: Sequence[VisitItem], terms: VisitTerms, place: dict[str, int]) -> Line:
    first = row[0]
    return Line(
        items=tuple(item.id for item in row),
        due=max(first.due_on, terms.on).toordinal(),
        at_start=terms.is_due_at_start(first.due_on),
        interval=first.interval_days,
        life=sum(item.life_per_day for item in row),
        late=sum(item.late_per_day or 0.0 for item in row) if first.may_be_late else None,
        minutes=sum(round(item.hours * 60) for item in row),
        settlers=tuple(sorted({place[other] for other in first.settled_by if other in place})),
    )
