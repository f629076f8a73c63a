"""The choice of visits as a constraint model, for cars that share the workshop's weeks."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from ortools.sat.python import cp_model

from maintenance.planning.demands import Demand
from maintenance.planning.visit_cover import Cover
from maintenance.planning.visit_lines import lines_of
from maintenance.planning.visit_weeks import item_words, monday, week_demand
from maintenance.planning.visits import VisitItem, VisitTerms

#: Prices inside the model are in millionths of a minor unit: life given up a day is a fraction.
SCALE = 1_000_000


@dataclass(slots=True)
class VisitModel:
    """The constraint model of some items.

    Parameters
    ----------
    cp : CpModel
        The solver's model.
    done : dict of (str, date) to IntVar
        Whether an item is work of its own on a day.
    demands : list
        Each demand with the literal that switches it on.
    price : LinearExpr
        What is to be made small [millionths of a minor unit].

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Management Science 5(1).
    """

    cp: cp_model.CpModel
    done: dict[tuple[str, date], cp_model.IntVar] = field(default_factory=dict)
    demands: list[tuple[Demand, cp_model.IntVar]] = field(default_factory=list)
    price: cp_model.LinearExprT = 0


def visit_model(
    items: Sequence[VisitItem], terms: VisitTerms, questioned: bool = False
) -> VisitModel:
    """Build the model of some cars' items.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due.
    terms : VisitTerms
        What visits cost and when they can be.
    questioned : bool
        Whether every demand can be switched off; else all of them hold.

    Returns
    -------
    VisitModel
        Without objective.

    References
    ----------
    .. [1] Wagner, H. M. & Whitin, T. M. (1958), Dynamic version of the economic lot size model,
       Management Science 5(1): items as demands, visits as set-ups, life given up as carrying.
    """
    # A millionth a day where nothing is lost: no reason to come early is a reason not to.
    cover = Cover(terms, least_life=1 / SCALE)
    open_days = terms.open_days()
    for vehicle in dict.fromkeys(item.vehicle for item in items):
        own = [item for item in items if item.vehicle == vehicle]
        days = [day.toordinal() for day in days_for(own, terms, open_days)]
        cover.add_car(vehicle, lines_of(own, terms, apart=True), [(day, day) for day in days])
    cp = cp_model.CpModel()
    choices = [cp.new_bool_var("") for _ in cover.prices]
    model = VisitModel(cp)
    prices = [round(SCALE * price) for price in cover.prices]
    model.price = cp_model.LinearExpr.weighted_sum(choices, prices) + round(SCALE * cover.fixed)
    for (item, (day, _)), choice in cover.done.items():
        model.done[item, date.fromordinal(day)] = choices[choice]
    _add_rows(model, cover, choices, {item.id: item for item in items}, questioned)
    if terms.hours_per_week is not None:
        _add_weeks(model, cover, choices, terms.hours_per_week, questioned)
    return model


def _add_rows(
    model: VisitModel,
    cover: Cover,
    choices: Sequence[cp_model.IntVar],
    items: dict[str, VisitItem],
    questioned: bool,
) -> None:
    literals: dict[str, cp_model.IntVar] = {}
    for row in cover.rows:
        total = sum(factor * choices[choice] for choice, factor in row.choices.items())
        if not row.item:
            model.cp.add(total >= row.least)
            continue
        if row.item not in literals:
            item = items[row.item]
            demand = Demand("item", item.id, item_words(item, cover.terms))
            literals[row.item] = _demand(model, demand, questioned)
        if row.choices:
            model.cp.add(total >= row.least).only_enforce_if(literals[row.item])
        else:
            model.cp.add(literals[row.item] == 0)


def _demand(model: VisitModel, demand: Demand, questioned: bool) -> cp_model.IntVar:
    """Literal that switches a demand on; always on unless demands are questioned."""
    literal = model.cp.new_bool_var("")
    if not questioned:
        model.cp.add(literal == 1)
    model.demands.append((demand, literal))
    return literal


def _add_weeks(
    model: VisitModel,
    cover: Cover,
    choices: Sequence[cp_model.IntVar],
    hours: float,
    questioned: bool,
) -> None:
    """Keep the work of each week, Monday to Sunday, within the workshop's hours."""
    minutes = {line.items[0]: line.minutes for line in cover.lines}
    weeks: dict[int, list[cp_model.LinearExprT]] = {}
    for (item, (day, _)), choice in cover.done.items():
        if minutes[item]:
            weeks.setdefault(monday(day), []).append(minutes[item] * choices[choice])
    for week, work in sorted(weeks.items()):
        literal = _demand(model, week_demand(date.fromordinal(week), hours), questioned)
        model.cp.add(sum(work) <= round(hours * 60)).only_enforce_if(literal)


def due_days(item: VisitItem, terms: VisitTerms) -> list[date]:
    """Days on which an item falls due in the period if each time it is done on its day.

    Parameters
    ----------
    item : VisitItem
        The item.
    terms : VisitTerms
        The period.

    Returns
    -------
    list of date
        What was due before the period is due on its first day.

    References
    ----------
    .. [1] Common practice.
    """
    days = []
    due = max(item.due_on, terms.on)
    while due <= terms.until:
        days.append(due)
        if item.interval_days is None:
            break
        due += timedelta(days=item.interval_days)
    return days


def days_for(
    items: Sequence[VisitItem], terms: VisitTerms, open_days: Sequence[date]
) -> list[date]:
    """Days on which a car's visits are looked for.

    Parameters
    ----------
    items : sequence of VisitItem
        What falls due on the car.
    terms : VisitTerms
        The period.
    open_days : sequence of datetime.date
        Days on which a visit can be.

    Returns
    -------
    list of date
        The first open day, the first one of each week, and the last one before each due day.

    References
    ----------
    .. [1] Common practice.
    """
    weeks: dict[date, date] = {}
    for day in open_days:
        weeks.setdefault(day - timedelta(days=day.weekday()), day)
    chosen = {*weeks.values(), *open_days[:1]}
    for due in {day for item in items for day in due_days(item, terms)}:
        chosen |= set([day for day in open_days if day <= due][-1:])
    return sorted(chosen)
