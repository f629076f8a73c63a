"""The coming months' due items of cars in use, grouped into visits; nothing is saved."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from maintenance.catalogue.job_rules import job_rules
from maintenance.engine.columns import CRITICALITIES
from maintenance.engine.days import add_months, from_day, to_day
from maintenance.engine.due import FINDING, INSPECTION, RULE
from maintenance.models import DueItem, Finding, Vehicle
from maintenance.planning.conflict import Conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.jobs import SAFETY
from maintenance.planning.problem import Settings
from maintenance.planning.visit_costs import VisitCosts
from maintenance.planning.visit_plan import VisitPlan, plan_visits
from maintenance.planning.visits import Visit, VisitItem, VisitTerms
from maintenance.planning.working_calendar import Span
from maintenance.queries.due_answers import DANGEROUS, Answers
from maintenance.queries.due_items import number
from maintenance.services.cars import closed_problems
from maintenance.services.checks.plans import visit_problems
from maintenance.services.plans.money import major, minor
from maintenance.services.plans.offers import offers_for
from maintenance.services.plans.terms import WEEKDAYS, VisitDraft
from maintenance.services.plans.wording import job_name
from maintenance.services.refusals import Problem, Refused, refuse_if_any

NOTE = (
    "A plan of visits, not a word on any car's condition. An item that is done again counts its "
    "next day from the shortest its rule may mean; lay-ups to come are not foreseen."
)
#: The shortest that a number of months may be is looked for among so many beginnings.
_BEGINNINGS = 48


@dataclass(frozen=True)
class _Asked:
    """Items for the planner, the due items behind them by their id, and cars passed over."""

    items: list[VisitItem]
    behind: dict[str, DueItem]
    passed_over: list[str]


def visit_plan(
    *, vehicles: Sequence[Vehicle], draft: VisitDraft, on: datetime.date
) -> dict[str, Any]:
    """Return visits for the due items of cars of one collection, beside two habits.

    Refused: terms that make no sense, and a car that has left the collection. Where items and
    workshop can't hold together the answer says which. Takes up to the time limit of the draft for
    each car.
    """
    refuse_if_any(visit_problems(draft))
    refuse_if_any(closed_problems(*vehicles))
    until = from_day(int(add_months(to_day(on), draft.months)))
    asked = _asked(vehicles, draft, on, until)
    terms = VisitTerms(
        on=on,
        until=until,
        cost_of_visit=minor(draft.cost_of_visit),
        hours_per_week=draft.hours_per_week,
        weekdays=tuple(sorted(WEEKDAYS.index(day) for day in draft.weekdays)),
        closed=tuple(Span(span.from_on, span.to_on) for span in draft.closed),
    )
    settings = Settings(seed=draft.seed, effort=draft.effort, seconds=float(draft.time_limit))
    try:
        found = plan_visits(asked.items, terms, settings)
    except PlanningError as wrong:
        raise Refused([Problem("", str(wrong))]) from wrong
    return _answer(found, asked, draft, on, until)


def _asked(
    vehicles: Sequence[Vehicle], draft: VisitDraft, on: datetime.date, until: datetime.date
) -> _Asked:
    answers = Answers(vehicles, on=on)
    standing = _standing(vehicles, on)
    costs = {car.pk: _costs(car, answers, draft) for car in vehicles}
    items: list[VisitItem] = []
    behind: dict[str, DueItem] = {}
    for row, item in enumerate(answers.items()):
        due = _due_on(item, on, standing)
        if due is None or due > until or item.paper_id or item.storage_care:
            continue
        if answers.answer.shelved[row]:
            # What lies on a shelf waits for no visit of the car.
            continue
        made = _visit_item(answers, row, item, due, costs[item.vehicle_id])
        items.append(made)
        behind[made.id] = item
    settling = _settling(behind)
    items = [replace(each, settled_by=_settled_by(behind[each.id], settling)) for each in items]
    passed = [car.registration for car in vehicles if standing.get(car.pk, on) is None]
    return _Asked(items, behind, passed)


def _standing(vehicles: Sequence[Vehicle], on: datetime.date) -> dict[Any, datetime.date | None]:
    """Day of return of each car that is laid up; none where nobody knows it."""
    found: dict[Any, datetime.date | None] = {}
    for car in vehicles:
        lasting = car.lay_ups.filter(current=True, withdrawn=False, from_on__lte=on)
        open_or_later = [one for one in lasting if one.to_on is None or one.to_on > on]
        for lay_up in open_or_later:
            back = lay_up.to_on or lay_up.expected_to
            found[car.pk] = back if back is not None and back > on else None
    return found


def _due_on(
    item: DueItem, on: datetime.date, standing: dict[Any, datetime.date | None]
) -> datetime.date | None:
    """Day by which an item is to be done; none where it has none or its car just stands.

    What a standing car asks for may wait until its return and no longer.
    """
    back = standing.get(item.vehicle_id, on)
    if back is None:
        return None
    due = on if item.no_record else item.due_on
    return None if due is None else max(due, back) if back > on else due


def _visit_item(
    answers: Answers, row: int, item: DueItem, due: datetime.date, costs: dict[Any, int]
) -> VisitItem:
    criticality = CRITICALITIES[item.criticality_rank]
    return VisitItem(
        id=f"{item.vehicle_id} {item.key}",
        vehicle=item.vehicle.registration,
        component=f"{item.kind} {item.position}".strip(),
        due_on=due,
        criticality=criticality,
        cost=costs.get((item.kind, item.position, item.task), costs["hour"] // 2),
        hours=_hours(item),
        interval_days=_interval(answers, row, due),
        late_per_day=None if criticality == SAFETY else float(costs["late"]),
    )


def _settling(behind: dict[str, DueItem]) -> dict[tuple[Any, str], str]:
    """Return the ids of renewals and overhauls, by component and task."""
    return {
        (item.component_id, item.task): key
        for key, item in behind.items()
        if item.component_id is not None and item.task in ("renew", "overhaul")
    }


def _settled_by(item: DueItem, settling: dict[tuple[Any, str], str]) -> tuple[str, ...]:
    """Return the items of the same component whose work starts this one's clock anew too.

    A renewed assembly starts those of its parts as well, but which of them are carried over is
    known only afterwards: counting on it could make an inspection of safety late.
    """
    thorough = {"renew": (), "overhaul": ("renew",)}.get(item.task, ("renew", "overhaul"))
    found = (settling.get((item.component_id, task)) for task in thorough)
    return tuple(key for key in found if key is not None)


def _hours(item: DueItem) -> float:
    return job_rules().standard(item.kind, item.task).hours


def _costs(car: Vehicle, answers: Answers, draft: VisitDraft) -> dict[Any, int]:
    """What each task on each component costs: hours at the rate, and for renewals the parts."""
    components = [c for c in answers.history.components if c.vehicle_id == car.pk]
    priced = offers_for(car, components, currency=draft.currency, wanted=())
    hour = minor(draft.rate_per_hour)
    found: dict[Any, int] = {"hour": hour, "late": minor(draft.late_per_day)}
    for component in components:
        place = (component.kind, component.position)
        bought = sum(part.total for part in priced.parts.get(place, ()))
        for task in ("renew", "overhaul", "inspect", "adjust", "clean", "lubricate", "repair"):
            work = round(job_rules().standard(component.kind, task).hours * hour)
            found[(*place, task)] = work + (bought if task == "renew" else 0)
    return found


def _interval(answers: Answers, row: int, due: datetime.date) -> int | None:
    """Days from doing an item to its next due day, the shortest that its rule may mean."""
    batch, answer = answers.history.batch, answers.answer
    origin, place = int(answer.origin[row]), int(answer.row[row])
    if origin == FINDING:
        return None
    car = int(answer.vehicle[row])
    if origin == INSPECTION:
        regime = int(batch.vehicles.regime[car])
        bands = batch.regimes.band_every_months[regime] if regime >= 0 else []
        months = [int(every) for every in bands if every > 0]
        return _shortest(min(months), due) if months else None
    if origin != RULE:
        return None
    rule = int(batch.items.rule[place])
    found = []
    if batch.rules.months[rule] >= 0:
        found.append(_shortest(int(batch.rules.months[rule]), due))
    rate = answer.shared.forecast.central
    driven, days = int(rate.distance[car]), int(rate.days[car])
    if batch.rules.distance[rule] >= 0 and driven > 0:
        found.append(max(1, int(batch.rules.distance[rule]) * days // driven))
    return min(found, default=None)


def _shortest(months: int, due: datetime.date) -> int:
    """Return the fewest days that so many calendar months have, from any month on."""
    starts = [to_day(due.replace(day=1)) + 30 * number for number in range(_BEGINNINGS)]
    return max(1, min(int(add_months(start, months)) - start for start in starts))


def _answer(
    found: VisitPlan | Conflict,
    asked: _Asked,
    draft: VisitDraft,
    on: datetime.date,
    until: datetime.date,
) -> dict[str, Any]:
    plan = found if isinstance(found, VisitPlan) else None
    return {
        "on": on.isoformat(),
        "until": until.isoformat(),
        "currency": draft.currency,
        "items": len(asked.items),
        "visits": [_visit(visit, asked.behind) for visit in plan.visits] if plan else [],
        "costs": _costs_of(plan.costs) if plan else None,
        "each_on_its_day": _costs_of(plan.each_on_its_day) if plan else None,
        "everything_yearly": _costs_of(plan.everything_yearly) if plan else None,
        "gap": _money(plan.gap) if plan else None,
        "conflict": found.words if isinstance(found, Conflict) else None,
        "laid_up_for_unknown_time": asked.passed_over,
        "not_to_be_driven_in": list(_dangers(asked)),
        "note": NOTE,
    }


def _dangers(asked: _Asked) -> Iterator[str]:
    """Say which cars do not come to their first visit on their own wheels, and why."""
    for item in asked.behind.values():
        if item.finding is not None and item.finding.category == Finding.Category.DANGEROUS:
            yield (
                f"{item.vehicle.registration} is not driven to a visit: have it mended where it "
                f"stands, or carried. {item.sentence} {DANGEROUS}"
            )


def _visit(visit: Visit, behind: dict[str, DueItem]) -> dict[str, Any]:
    return {
        "vehicle": visit.vehicle,
        "on": visit.on.isoformat(),
        "hours": round(visit.hours, 2),
        "items": list(_items(visit, behind)),
    }


def _items(visit: Visit, behind: dict[str, DueItem]) -> Iterator[dict[str, Any]]:
    for key in visit.items:
        item = behind[key]
        yield {
            "job": job_name(item.task, item.kind, item.position),
            "component": item.kind,
            "position": item.position,
            "task": item.task,
            "criticality": CRITICALITIES[item.criticality_rank],
            "first_due_on": item.due_on.isoformat() if item.due_on else None,
        }


def _costs_of(costs: VisitCosts) -> dict[str, Any]:
    return {
        "visits": costs.visits,
        "visit_cost": _money(costs.visit_cost),
        "given_up": _money(costs.given_up),
        "lateness": _money(costs.lateness),
        "total": _money(costs.total),
        "work": _money(costs.work),
        "overdue_safety_days": costs.overdue_safety_days,
        "overdue_other_days": costs.overdue_other_days,
    }


def _money(amount: float) -> int | float:
    return number(major(amount)) or 0
