"""What a way of doing the work costs: visits, life given up and lateness, and the work itself."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from maintenance.planning.jobs import SAFETY
from maintenance.planning.visits import Visit, VisitItem, VisitTerms


@dataclass(frozen=True, slots=True)
class VisitCosts:
    """What a way of doing the work costs, counted from the days on which it is done.

    Parameters
    ----------
    visits : int
        Number of visits.
    visit_cost : int
        [minor units].
    given_up : float
        Life thrown away by doing early [minor units].
    lateness : float
        Price of the days late [minor units].
    work : int
        Parts and work themselves; depends on what falls just inside the period [minor units].
    overdue_safety_days, overdue_other_days : int
        Days that items were overdue, summed over items [days].

    References
    ----------
    .. [1] Common practice.
    """

    visits: int
    visit_cost: int
    given_up: float
    lateness: float
    work: int
    overdue_safety_days: int
    overdue_other_days: int

    @property
    def total(self) -> float:
        """What the planner makes small: visits, life given up, lateness [minor units]."""
        return self.visit_cost + self.given_up + self.lateness


DoneDays = Mapping[str, Sequence[date]]


def costs_of_visits(items: Iterable[VisitItem], terms: VisitTerms, done: DoneDays) -> VisitCosts:
    """Count what a way of doing the work costs.

    Parameters
    ----------
    items : iterable of VisitItem
        What falls due.
    terms : VisitTerms
        What visits cost.
    done : mapping of str to sequence of date
        Days on which each item is done, by its id, in order.

    Returns
    -------
    VisitCosts
        Days before `terms.on` are not counted as overdue: nobody can mend them now.

    Notes
    -----
    A day on which another item settles one counts as done: its interval begins anew, and what was
    left of the old one is given up, so that an inspection just before a renewal is told as waste.
    Of something done once nothing is given up where it is settled.

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Dynamic version of the economic lot size model,
       Management Science 5(1): set-up cost against the cost of carrying.
    """
    visits: set[tuple[str, date]] = set()
    given_up, lateness, work = 0.0, 0.0, 0
    overdue = {True: 0, False: 0}
    for item in items:
        own = by_itself(item, done)
        # What does not fall due in the period has no place in the plan, nor has what is left of it.
        falls_due = max(item.due_on, terms.on) <= terms.until
        settled = settled_days(item, done) if falls_due else set()
        early, late = _early_and_late(item, terms, own, settled)
        given_up += early * item.life_per_day
        lateness += late * (item.late_per_day or 0.0)
        work += item.cost * len(own)
        overdue[item.criticality == SAFETY] += late
        visits |= {(item.vehicle, day) for day in own}
    return VisitCosts(
        visits=len(visits),
        visit_cost=sum(terms.visit_cost(day) for _, day in visits),
        given_up=given_up,
        lateness=lateness,
        work=work,
        overdue_safety_days=overdue[True],
        overdue_other_days=overdue[False],
    )


def _early_and_late(
    item: VisitItem, terms: VisitTerms, own: Sequence[date], settled: set[date]
) -> tuple[int, int]:
    """Days early and days late of an item, summed over the times that it is done or settled."""
    early = late = 0
    due: date | None = max(item.due_on, terms.on)
    for day in sorted({*own, *settled}):
        if due is None:
            break
        if item.interval_days is not None:
            # No more is lost than one time is worth, and what is done early is due no sooner.
            early += min(max(0, (due - day).days), item.interval_days)
            again = max(due, day + timedelta(days=item.interval_days))
        else:
            early += 0 if day in settled else max(0, (due - day).days)
            again = None
        late += max(0, (day - due).days)
        due = again
    if due is not None and due <= terms.until:
        late += (terms.until - due).days + 1
    return early, late


def settled_days(item: VisitItem, done: DoneDays) -> set[date]:
    """Give the days on which others do an item's work as well.

    Parameters
    ----------
    item : VisitItem
        The item.
    done : mapping of str to sequence of date
        Days on which each item is done, by its id.

    Returns
    -------
    set of date
        Days on which its interval begins anew without work of its own.

    References
    ----------
    .. [1] Common practice: a renewal starts every interval of a component afresh.
    """
    return {day for other in item.settled_by for day in done.get(other, ())}


def by_itself(item: VisitItem, done: DoneDays) -> list[date]:
    """Give the days on which an item is work of its own.

    Parameters
    ----------
    item : VisitItem
        The item.
    done : mapping of str to sequence of date
        Days on which each item is done, by its id.

    Returns
    -------
    list of date
        Without those on which another settles it. What is done once is so on the first day, if at
        all: nothing makes it due again, nor is it done where another settled it before.

    References
    ----------
    .. [1] Common practice.
    """
    settled = settled_days(item, done)
    own = [day for day in done.get(item.id, ()) if day not in settled]
    if item.interval_days is not None:
        return own
    return [day for day in own[:1] if not any(other < day for other in settled)]


def visits_of(items: Sequence[VisitItem], done: DoneDays) -> tuple[Visit, ...]:
    """Gather what is done on one car on one day into visits.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    done : mapping of str to sequence of date
        Days on which each item is done, by its id.

    Returns
    -------
    tuple of Visit
        In the order of days and cars.

    References
    ----------
    .. [1] Common practice.
    """
    gathered: dict[tuple[date, str], list[VisitItem]] = {}
    for item in items:
        for day in by_itself(item, done):
            gathered.setdefault((day, item.vehicle), []).append(item)
    return tuple(
        Visit(vehicle, day, tuple(i.id for i in there), sum(i.hours for i in there))
        for (day, vehicle), there in sorted(gathered.items(), key=lambda pair: pair[0])
    )
