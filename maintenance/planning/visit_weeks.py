"""The workshop's weeks: what they hold, what is taken of them, and what is too much for them."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from maintenance.planning.conflict import Conflict
from maintenance.planning.demands import Demand
from maintenance.planning.visit_costs import DoneDays
from maintenance.planning.visits import VisitItem, VisitTerms

#: Working minutes that the workshop has left in each week, by the ordinal of its Monday.
Free = dict[int, int]


def monday(day: int) -> int:
    """Give the Monday of a day's week.

    Parameters
    ----------
    day : int
        Ordinal of the proleptic calendar, whose day 1 was a Monday [days].

    Returns
    -------
    int
        Ordinal of the Monday [days].

    References
    ----------
    .. [1] ISO 8601-1:2019, 3.1.1.23: a week begins on Monday.
    """
    return day - (day - 1) % 7


def week_hours(terms: VisitTerms) -> Free | None:
    """Give the workshop's time in each week of the period.

    Parameters
    ----------
    terms : VisitTerms
        Period and weekly hours.

    Returns
    -------
    dict of int to int, or None
        By the ordinal of the week's Monday [min]; none where there is no limit.

    References
    ----------
    .. [1] ISO 8601-1:2019, 3.1.1.23: a week begins on Monday.
    """
    if terms.hours_per_week is None:
        return None
    first = monday(terms.on.toordinal())
    weeks = range(first, terms.until.toordinal() + 1, 7)
    return dict.fromkeys(weeks, round(terms.hours_per_week * 60))


def taken(items: Sequence[VisitItem], done: DoneDays) -> Free:
    """Count what work on some days takes of each week.

    Parameters
    ----------
    items : sequence of VisitItem
        What is done.
    done : mapping of str to sequence of date
        Days on which each is done, by its id.

    Returns
    -------
    dict of int to int
        By the ordinal of the week's Monday [min].

    References
    ----------
    .. [1] Common practice.
    """
    found: Free = {}
    for item in items:
        for day in done.get(item.id, ()):
            week = monday(day.toordinal())
            found[week] = found.get(week, 0) + round(item.hours * 60)
    return found


def take(free: Free, work: Mapping[int, int], sign: int = 1) -> None:
    """Take work off what the weeks have left, or give it back.

    Parameters
    ----------
    free : dict of int to int
        Changed in place [min].
    work : mapping of int to int
        By the ordinal of the week's Monday [min].
    sign : int
        1 to take, -1 to give back [-].

    References
    ----------
    .. [1] Common practice.
    """
    for week, minutes in work.items():
        free[week] -= sign * minutes


def item_words(item: VisitItem, terms: VisitTerms) -> str:
    """Say what is demanded of an item.

    Parameters
    ----------
    item : VisitItem
        The item.
    terms : VisitTerms
        The period.

    Returns
    -------
    str
        That it is done by its day, or at once.

    References
    ----------
    .. [1] Common practice.
    """
    if terms.is_due_at_start(item.due_on):
        return f"{item.component} of {item.vehicle}, due since {item.due_on}, is done at once"
    return f"{item.component} of {item.vehicle} is done by {item.due_on}"


def week_demand(week: date, hours: float) -> Demand:
    """Give the demand that a week's work stays within the workshop's hours.

    Parameters
    ----------
    week : datetime.date
        Its Monday.
    hours : float
        Most work of a week [h].

    Returns
    -------
    Demand
        With its words.

    References
    ----------
    .. [1] Common practice.
    """
    return Demand("week", week.isoformat(), f"the week of {week} has {hours:g} h of workshop")


def too_full(items: Sequence[VisitItem], terms: VisitTerms) -> Conflict | None:
    """Find work that falls due sooner than the workshop's weeks can hold it.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    terms : VisitTerms
        When visits can be, and the weekly hours.

    Returns
    -------
    Conflict or None
        The first weeks that are too short for what must be done in them, and the largest of that
        work; none where no such weeks are found, which proves nothing.

    References
    ----------
    .. [1] Hall, P. (1935), On representatives of subsets, Journal of the London Mathematical
       Society 10, 26-30: the condition, for what is due by each week.
    """
    open_days = terms.open_days()
    if terms.hours_per_week is None or not open_days:
        return None
    weeks = sorted({day - timedelta(days=day.weekday()) for day in open_days})
    must = [item for item in items if not item.may_be_late and item.hours > 0]
    for number, week in enumerate(weeks, start=1):
        within = week + timedelta(days=6)
        due = [item for item in must if max(item.due_on, open_days[0]) <= within]
        room = round(terms.hours_per_week * 60) * number
        if sum(round(item.hours * 60) for item in due) > room:
            return _too_much(due, terms, weeks[:number], room)
    return None


def _too_much(
    due: Sequence[VisitItem], terms: VisitTerms, weeks: Sequence[date], room: int
) -> Conflict:
    chosen: list[VisitItem] = []
    for item in sorted(due, key=lambda each: -each.hours):
        chosen.append(item)
        if sum(round(each.hours * 60) for each in chosen) > room:
            break
    demands = [week_demand(week, terms.hours_per_week or 0.0) for week in weeks]
    demands += [Demand("item", item.id, item_words(item, terms)) for item in chosen]
    # In a single week whatever is not too much in all can be done.
    return Conflict(tuple(demands), smallest=len(weeks) == 1)
