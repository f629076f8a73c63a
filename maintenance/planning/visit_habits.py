"""Two common habits, to compare a visit plan with: each item on its day, and everything yearly."""

from collections.abc import Sequence
from datetime import date, timedelta
from graphlib import TopologicalSorter

from maintenance.planning.visit_costs import settled_days
from maintenance.planning.visits import VisitItem, VisitTerms

YEAR = 365


def each_on_its_day(items: Sequence[VisitItem], terms: VisitTerms) -> dict[str, list[date]]:
    """Do every item on the last open day before it is late, and never together on purpose.

    What a renewal settled is not looked at before it is due again.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    terms : VisitTerms
        When visits can be; the workshop's weekly hours are not looked at.

    Returns
    -------
    dict of str to list of date
        Days on which each item is done, by its id. Where no open day is left before the due day,
        the next open one.

    References
    ----------
    .. [1] Common practice.
    """
    open_days = terms.open_days()
    by_id = {item.id: item for item in items}
    order = TopologicalSorter({item.id: item.settled_by for item in items}).static_order()
    done: dict[str, list[date]] = {}
    for key in order:
        if key in by_id:
            item = by_id[key]
            done[key] = _days_of(item, terms, open_days, sorted(settled_days(item, done)))
    return done


def _days_of(
    item: VisitItem, terms: VisitTerms, open_days: Sequence[date], settled: Sequence[date]
) -> list[date]:
    due: date | None = max(item.due_on, terms.on)
    last: date | None = None
    days: list[date] = []
    while due is not None and due <= terms.until:
        own = _day_for(open_days, due, last)
        by_others = next((day for day in settled if last is None or day > last), None)
        if by_others is not None and (own is None or by_others <= own):
            last = by_others
        elif own is None:
            break
        else:
            days.append(own)
            last = own
        due = max(due, last + timedelta(days=item.interval_days)) if item.interval_days else None
    return days


def _day_for(open_days: Sequence[date], due: date, after: date | None) -> date | None:
    free = [day for day in open_days if after is None or day > after]
    in_time = [day for day in free if day <= due]
    if in_time:
        return in_time[-1]
    return free[0] if free else None


def everything_yearly(items: Sequence[VisitItem], terms: VisitTerms) -> dict[str, list[date]]:
    """Do everything on one day a year, the first day planned and its returns.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    terms : VisitTerms
        When visits can be; the workshop's weekly hours are not looked at.

    Returns
    -------
    dict of str to list of date
        Days on which each item is done, by its id; an item done once is done the first time.

    References
    ----------
    .. [1] Common practice.
    """
    open_days = terms.open_days()
    yearly: list[date] = []
    wanted = terms.on
    while wanted <= terms.until:
        later = [day for day in open_days if day >= wanted]
        if not later:
            break
        yearly.append(later[0])
        wanted += timedelta(days=YEAR)
    return {item.id: yearly if item.interval_days else yearly[:1] for item in items}
