"""What an answer of the planner says of the whole plan, ready to be written as JSON."""

import datetime
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from maintenance.models import PlanJob, PlanPart
from maintenance.planning.conflict import Conflict
from maintenance.planning.estimates import Outturn, estimate_error
from maintenance.planning.jobs import Job
from maintenance.planning.outcome import TIDY, Costs, Plan, Stage
from maintenance.queries.due_items import number
from maintenance.services.plans.building import Built, Sheets, paid
from maintenance.services.plans.money import major, minor
from maintenance.services.plans.outcome import in_order
from maintenance.services.plans.wording import job_name, name_of
from maintenance.services.plans.workshop import unused

NOTE = (
    "A plan of work, not a word on the car's condition. Hours and prices are estimates; torques, "
    "limits and the order of work in the maker's handbook come first, as do local law and licensed "
    "practice."
)


def result_of(
    sheets: Sheets, built: Built, answer: Plan | Conflict, nearest: Plan | None
) -> dict[str, Any]:
    """Return the figures of a plan as planned; `nearest` is one without the demands in conflict."""
    plan = answer if isinstance(answer, Plan) else None
    return {
        "ready_on": _iso(plan.ready_on if plan else None),
        "finished_on": _iso(plan.finished_on if plan else None),
        "immobile_days": plan.immobile_days if plan else None,
        "critical_jobs": [_name(p.job) for p in plan.critical] if plan else [],
        "left_out": [_name(job) for job in plan.left_out] if plan else [],
        "stages": [_stage(stage) for stage in plan.stages if stage.name != TIDY] if plan else [],
        "proven": bool(plan and plan.proven),
        "cut_short": bool(plan and plan.cut_short),
        "costs": _costs(sheets, built, plan.costs) if plan else None,
        "conflict": _conflict(answer, nearest) if isinstance(answer, Conflict) else None,
        "assemblies": [choice.words for choice in built.choices],
        "done_again": list(built.redone),
        "without_price": _without_price(sheets),
        "papers": list(sheets.papers),
        "estimates": _estimates(sheets),
        "notes": [*sheets.priced.notes, *unused(built.problem, sheets.resources), NOTE],
    }


def _name(job: Job) -> str:
    return job_name(job.task, job.kind, job.position)


def _stage(stage: Stage) -> dict[str, Any]:
    money = stage.unit == "minor units"
    value, bound = (
        (number(major(stage.value)), number(major(stage.bound)))
        if money
        else (stage.value, stage.bound)
    )
    return {
        "name": stage.name,
        "unit": "of the currency" if money else stage.unit,
        "value": value,
        "bound": bound,
        "proven": stage.proven,
    }


def _costs(sheets: Sheets, built: Built, costs: Costs) -> dict[str, Any]:
    spent = sum(paid(row) for row in sheets.done())
    budget = sheets.plan.budget
    return {
        "total": _figure(costs.total),
        "parts": _figure(costs.parts),
        "consumables": _figure(costs.consumables),
        "outside_work": _figure(costs.outside_work),
        "labour": _figure(costs.labour),
        "hire": _figure(costs.hire),
        "spent": _figure(spent),
        "budget": number(budget),
        "left_of_budget": None if budget is None else _figure(minor(budget) - spent - costs.total),
        "by_supplier": _shares("supplier", costs.by_supplier.items()),
        "by_system": _shares("system", costs.by_system.items()),
    }


def _shares(name: str, shares: Iterable[tuple[str, int]]) -> list[dict[str, Any]]:
    dear = sorted((one for one in shares if one[1]), key=lambda one: (-one[1], one[0]))
    return [{name: who or "not named", "amount": _figure(amount)} for who, amount in dear]


def _figure(amount: int) -> int | float:
    found = number(major(amount))
    assert found is not None
    return found


def _conflict(conflict: Conflict, nearest: Plan | None) -> dict[str, Any]:
    return {
        "words": conflict.words,
        "demands": [demand.words for demand in conflict.demands],
        "smallest": conflict.smallest,
        "ready_on_without": _iso(nearest.ready_on if nearest else None),
        "cost_without": _figure(nearest.costs.total) if nearest else None,
    }


def _without_price(sheets: Sheets) -> list[str]:
    """Renewals for which no part is on offer, so that the cost counts nothing for them."""
    return [
        name_of(row)
        for row in in_order(sheets)
        if row.task == "renew"
        and row.state != PlanJob.State.DONE
        and not sheets.parts.get(row.key)
        and not row.other_cost
    ]


def _estimates(sheets: Sheets) -> dict[str, Any]:
    """How far the estimates of finished jobs were off, over those with a figure of each."""
    timed = [row for row in sheets.done() if row.hours_taken is not None]
    bought = [row for row in sheets.done() if row.cost_paid is not None]
    hours = estimate_error([_outturn(row) for row in timed])
    cost = estimate_error([_outturn(row) for row in bought])
    return {
        "jobs_done": len(sheets.done()),
        "hours_estimated": _sum(row.hours for row in timed),
        "hours_taken": _sum(row.hours_taken for row in timed),
        "hours_ratio": _round(hours.hours_ratio),
        "mean_hours_off": _round(hours.mean_hours_off),
        "cost_estimated": _sum(row.outlay for row in bought),
        "cost_paid": _sum(row.cost_paid for row in bought),
        "cost_ratio": _round(cost.cost_ratio),
    }


def _outturn(row: PlanJob) -> Outturn:
    return Outturn(
        name_of(row),
        float(row.hours),
        float(row.hours_taken or 0),
        minor(row.outlay),
        minor(row.cost_paid),
    )


def _sum(figures: Iterable[Decimal | None]) -> int | float:
    return number(sum((figure or Decimal(0) for figure in figures), Decimal(0))) or 0


def _round(figure: float | None) -> float | None:
    return None if figure is None else round(figure, 3)


def _iso(day: datetime.date | None) -> str | None:
    return None if day is None else day.isoformat()


def order_list(sheets: Sheets) -> list[PlanPart]:
    """Return the parts still to be ordered, the most urgent first."""
    rows = [part for parts in sheets.parts.values() for part in parts if part.order_by]
    return sorted(rows, key=lambda part: (part.order_by, part.name, part.supplier))
