"""A plan as plain values, ready to be written as JSON: whole, for commands and other programs."""

import datetime
from typing import Any

from maintenance.catalogue.load import catalogue
from maintenance.models import PlanJob, PlanPart
from maintenance.queries.due_items import number
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.outcome import in_order
from maintenance.services.plans.result import order_list
from maintenance.services.plans.wording import name_of, told_in_full

NOW = datetime.timedelta(days=7)
"""What is to be ordered within a week is to be ordered now."""


def as_dict(sheets: Sheets) -> dict[str, Any]:
    """Return a plan with its jobs, what is to be ordered, and what came of it."""
    plan = sheets.plan
    return {
        "vehicle": plan.vehicle.registration,
        "on": plan.planned_on.isoformat(),
        "by": plan.by.isoformat(),
        "currency": plan.currency,
        "state": plan.state,
        **plan.result,
        "orders": [_order(part, plan.planned_on) for part in order_list(sheets)],
        "jobs": [_job(job, sheets.parts.get(job.key, [])) for job in in_order(sheets)],
        "cautions": cautions_of(sheets),
    }


def cautions_of(sheets: Sheets) -> list[str]:
    """Return the cautions of all jobs in full, each once."""
    keys = dict.fromkeys(key for job in in_order(sheets) for key in job.cautions)
    return [catalogue().cautions[key].text for key in keys if key in catalogue().cautions]


def _order(part: PlanPart, on: datetime.date) -> dict[str, Any]:
    return {
        "order_by": _iso(part.order_by),
        "now": part.order_by is not None and part.order_by <= on + NOW,
        "part": part.name,
        "part_number": part.part_number,
        "supplier": part.supplier,
        "quantity": part.quantity,
        "price": number(part.price),
        "lead_days": part.lead_days,
        "needed_on": _iso(part.needed_on),
        "job": name_of(part.job),
    }


def _job(job: PlanJob, parts: list[PlanPart]) -> dict[str, Any]:
    return {
        "job": name_of(job),
        "told": told_in_full(job),
        "key": job.key,
        "component": job.kind,
        "position": job.position,
        "task": job.task,
        "system": job.system,
        "criticality": job.criticality,
        "state": job.state,
        "starts_on": _iso(job.starts_on),
        "starts_at": None if job.starts_at is None else f"{job.starts_at:%H:%M}",
        "ends_on": _iso(job.ends_on),
        "ends_at": None if job.ends_at is None else f"{job.ends_at:%H:%M}",
        "people": job.people,
        "hands": job.hands,
        "who": job.who,
        "hours": number(job.hours),
        "outlay": number(job.outlay),
        "optional": job.optional,
        "float_days": job.float_days,
        "critical": job.float_days == 0,
        "uses": job.uses,
        "parts": [part.name for part in parts],
        "consumables": job.consumables,
        "sheet_fields": job.sheet_fields,
        "cautions": job.cautions,
        "reason": job.reason,
        "done_on": _iso(job.done_on),
        "hours_taken": number(job.hours_taken),
        "cost_paid": number(job.cost_paid),
    }


def _iso(day: datetime.date | None) -> str | None:
    return None if day is None else day.isoformat()
