"""Which jobs to do in one visit: the cost of a visit against the life that doing early gives up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from graphlib import CycleError, TopologicalSorter

from maintenance.planning.errors import PlanningError
from maintenance.planning.jobs import CRITICALITIES, SAFETY
from maintenance.planning.working_calendar import Span


@dataclass(frozen=True, slots=True)
class VisitItem:
    """Something that falls due on a car, once or again and again.

    Parameters
    ----------
    id, vehicle, component : str
        Its identity, the car and what it is done on.
    due_on : datetime.date
        Day by which it is to be done.
    criticality : str
        "safety", "reliability" or "appearance". A safety item is never late.
    cost : int
        Parts and work each time [minor units].
    hours : float
        Work each time [h].
    interval_days : int, optional
        Days from doing it to its next due day [days], the shortest that may be meant; none for
        something done once. Done early it is due again no sooner than it was due anyway.
    given_up_per_day : float, optional
        What each day of doing it early throws away [minor units per day]; else its cost spread
        over its interval, and nothing for something done once.
    late_per_day : float, optional
        Price of each day late [minor units per day], for an item that may be late; none for one
        that may not.
    settled_by : tuple of str
        Ids of items of the same car that do this one's work as well, as a renewal does an
        inspection's: whenever one of them is done, this one's interval begins anew.

    References
    ----------
    .. [1] Common practice.
    """

    id: str
    vehicle: str
    component: str
    due_on: date
    criticality: str = SAFETY
    cost: int = 0
    hours: float = 0.0
    interval_days: int | None = None
    given_up_per_day: float | None = None
    late_per_day: float | None = None
    settled_by: tuple[str, ...] = ()

    @property
    def life_per_day(self) -> float:
        """Value of a day of its life [minor units per day]."""
        if self.given_up_per_day is not None:
            return self.given_up_per_day
        return self.cost / self.interval_days if self.interval_days else 0.0

    @property
    def may_be_late(self) -> bool:
        """Whether lateness is merely dear."""
        return self.criticality != SAFETY and self.late_per_day is not None


@dataclass(frozen=True, slots=True)
class VisitTerms:
    """What visits cost and when they can be.

    Parameters
    ----------
    on, until : datetime.date
        First and last day planned, both included; 24 months are usual.
    cost_of_visit : int
        Bringing one car in for one day, whatever is done [minor units].
    visit_costs : mapping of date to int
        Days on which a visit costs something else [minor units].
    hours_per_week : float, optional
        Most that the workshop can do from Monday to Sunday [h]; none for no limit.
    weekdays : tuple of int
        Days on which it works, 0 for Monday.
    closed : tuple of Span
        Blackouts and events.

    References
    ----------
    .. [1] Common practice.
    """

    on: date
    until: date
    cost_of_visit: int = 0
    visit_costs: Mapping[date, int] = field(default_factory=dict)
    hours_per_week: float | None = None
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    closed: tuple[Span, ...] = ()

    def open_days(self) -> list[date]:
        """Days on which a visit can be, in order."""
        span = range((self.until - self.on).days + 1)
        days = (self.on + timedelta(days=number) for number in span)
        return [
            day
            for day in days
            if day.weekday() in self.weekdays and not any(day in shut for shut in self.closed)
        ]

    def is_due_at_start(self, due_on: date) -> bool:
        """Say whether something is due by the first day, so that it is done at the first visit."""
        return due_on <= self.on

    def visit_cost(self, day: date) -> int:
        """Cost of a visit on a day [minor units]."""
        return self.visit_costs.get(day, self.cost_of_visit)


@dataclass(frozen=True, slots=True)
class Visit:
    """One car in the workshop on one day.

    Parameters
    ----------
    vehicle : str
        The car.
    on : datetime.date
        The day.
    items : tuple of str
        Ids of what is done.
    hours : float
        Work [h].

    References
    ----------
    .. [1] Common practice.
    """

    vehicle: str
    on: date
    items: tuple[str, ...]
    hours: float


def checked_items(items: Sequence[VisitItem], terms: VisitTerms) -> None:
    """Say what makes no sense in what a visit plan is asked for.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    terms : VisitTerms
        What visits cost and when they can be.

    Raises
    ------
    PlanningError
        Names the item or the term, the field and the remedy.

    References
    ----------
    .. [1] Common practice.
    """
    if terms.until < terms.on:
        raise PlanningError("until lies before on; give a later day")
    if not terms.open_days():
        raise PlanningError("no day is open for a visit; shorten `closed` or add `weekdays`")
    if len({item.id for item in items}) < len(items):
        raise PlanningError("two items share an id; give each its own")
    cars = {item.id: item.vehicle for item in items}
    for item in items:
        if any(cars.get(other, item.vehicle) != item.vehicle for other in item.settled_by):
            raise PlanningError(f"{item.id}: settled_by names an item of another car; leave it out")
        if item.criticality not in CRITICALITIES:
            raise PlanningError(f"{item.id}: criticality {item.criticality!r} is unknown")
        if item.interval_days is not None and item.interval_days < 1:
            raise PlanningError(f"{item.id}: interval_days must be at least 1")
        if item.life_per_day < 0 or item.hours < 0 or (item.late_per_day or 0.0) < 0:
            raise PlanningError(f"{item.id}: hours and prices can't be below 0")
    order = TopologicalSorter({item.id: item.settled_by for item in items})
    try:
        order.prepare()
    except CycleError as wrong:
        around = ", ".join(dict.fromkeys(wrong.args[1]))
        raise PlanningError(f"settled_by of {around} goes in a circle; leave one out") from wrong
