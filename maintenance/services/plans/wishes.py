"""From needs to what the planner is asked for: what must be done and what the keeper said."""

from collections.abc import Mapping, Sequence

from maintenance.catalogue.job_rules import PUT_RIGHT
from maintenance.models import PlanJob, PlanNeed
from maintenance.planning.jobs import APPEARANCE, SAFETY
from maintenance.planning.wanted import Wanted
from maintenance.services.plans.money import minor

_OPTIONAL_ORIGINS = {PlanNeed.Origin.KEEPER, PlanNeed.Origin.FINDING}


def key_of(task: str, kind: str, position: str) -> str:
    """Return the key that the planner gives a job."""
    return " ".join(word for word in (task, kind, position) if word)


def need_key(need: PlanNeed) -> str:
    """Return the key of the job that answers a need by itself."""
    return key_of(need.task, need.kind, need.position)


def wanted_of(needs: Sequence[PlanNeed], jobs: Mapping[str, PlanJob]) -> tuple[Wanted, ...]:
    """Return what the planner is asked for, with what the keeper said of it."""
    return tuple(_wanted(need, jobs.get(need_key(need))) for need in needs)


def _wanted(need: PlanNeed, job: PlanJob | None) -> Wanted:
    safety = need.criticality == SAFETY
    return Wanted(
        kind=need.kind,
        position=need.position,
        task=need.task,
        component=str(need.component_id or ""),
        criticality=need.criticality,
        reason=need.reason,
        hours=float(job.own_hours) if job and job.own_hours is not None else None,
        cost=minor(job.other_cost) if job else 0,
        optional=not safety and (job.optional if job else _optional(need)),
        tags=tuple(need.tags),
    )


def _optional(need: PlanNeed) -> bool:
    """What nobody has to do: looks, advice of an inspection, and wishes; no minor finding."""
    if PUT_RIGHT in need.tags:
        return False
    light = need.origin in _OPTIONAL_ORIGINS and need.criticality != SAFETY
    return light or need.criticality == APPEARANCE
