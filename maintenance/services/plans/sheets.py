"""A plan's rows brought together: a new plan from its terms, or a stored one read again."""

import datetime
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from maintenance.models import (
    Component,
    DueItem,
    PlanJob,
    PlanNeed,
    PlanPart,
    PlanPerson,
    PlanResource,
    RecommissioningPlan,
    Vehicle,
)
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.limits import measured_on
from maintenance.services.plans.needs import needs_of
from maintenance.services.plans.offers import offers_for
from maintenance.services.plans.terms import (
    HoursDraft,
    PersonDraft,
    RecommissioningDraft,
    ResourceDraft,
    SpanDraft,
)

_PLAIN = ("starts_on", "by", "budget", "currency", "rate_per_hour", "seed", "time_limit")


def new_sheets(vehicle: Vehicle, draft: RecommissioningDraft, *, on: datetime.date) -> Sheets:
    """Return a new plan of a car with what the car asks for; nothing is saved."""
    plan = RecommissioningPlan(
        vehicle=vehicle, collection_id=vehicle.collection_id, planned_on=on, result={}
    )
    set_terms(plan, draft)
    needs, papers = needs_of(vehicle, on=on, by=draft.by)
    for need in needs:
        need.plan = plan
    components = _components(vehicle)
    priced = offers_for(vehicle, components, currency=plan.currency, wanted=renewed(needs))
    return Sheets(
        plan=plan,
        people=people_rows(plan, draft),
        resources=resource_rows(plan, draft),
        needs=needs,
        components=components,
        priced=priced,
        measured=measured_on(vehicle, components),
        papers=paper_words(papers),
    )


def stored_sheets(plan: RecommissioningPlan) -> Sheets:
    """Read a stored plan with all its rows. Eight queries."""
    components = _components(plan.vehicle)
    jobs = {job.key: job for job in plan.jobs.select_related("component").order_by("sequence")}
    by_id = {job.pk: job.key for job in jobs.values()}
    parts: dict[str, list[PlanPart]] = {key: [] for key in jobs}
    for part in plan.parts.order_by("id"):
        parts[by_id[part.job_id]].append(part)
    needs = list(plan.needs.order_by("id"))
    return Sheets(
        plan=plan,
        people=list(plan.people.order_by("sequence")),
        resources=list(plan.resources.order_by("sequence")),
        needs=needs,
        components=components,
        priced=offers_for(plan.vehicle, components, currency=plan.currency, wanted=renewed(needs)),
        measured=measured_on(plan.vehicle, components),
        jobs=jobs,
        parts=parts,
        papers=list(plan.result.get("papers", [])),
    )


def renewed(needs: Iterable[PlanNeed]) -> set[tuple[str, str]]:
    """Return the places at which something is to be renewed."""
    return {(need.kind, need.position) for need in needs if need.task == "renew"}


def _components(vehicle: Vehicle) -> list[Component]:
    """Return what is on the car: a part on a shelf is no mate of one that is fitted."""
    on_the_car = Component.objects.filter(vehicle=vehicle, storage="")
    return list(on_the_car.order_by("kind", "position"))


def draft_of(plan: RecommissioningPlan) -> RecommissioningDraft:
    """Return the terms of a stored plan as a draft again, to be changed. Two queries."""
    return RecommissioningDraft(
        **{name: getattr(plan, name) for name in _PLAIN},
        closed=_span_drafts(plan.closed),
        people=tuple(
            PersonDraft(
                name=row.name,
                hours=tuple(_hours_draft(one) for one in row.hours),
                skills=tuple(row.skills),
                away=_span_drafts(row.away),
                cost_per_hour=row.cost_per_hour,
            )
            for row in plan.people.order_by("sequence")
        ),
        resources=tuple(
            ResourceDraft(
                name=row.name,
                capacity=row.capacity,
                daily_cost=row.daily_cost,
                whole_span=row.whole_span,
                weekdays=tuple(row.weekdays),
                closed=_span_drafts(row.closed),
                used_for=tuple(row.used_for),
            )
            for row in plan.resources.order_by("sequence")
        ),
    )


def _hours_draft(stored: dict[str, str]) -> HoursDraft:
    at = datetime.time.fromisoformat
    return HoursDraft(
        weekday=stored["weekday"], begins_at=at(stored["begins_at"]), ends_at=at(stored["ends_at"])
    )


def _span_drafts(stored: list[dict[str, str]]) -> tuple[SpanDraft, ...]:
    day = datetime.date.fromisoformat
    return tuple(SpanDraft(from_on=day(one["from"]), to_on=day(one["to"])) for one in stored)


def set_terms(plan: RecommissioningPlan, draft: RecommissioningDraft) -> None:
    """Write the plain terms of a draft to a plan."""
    for name in _PLAIN:
        setattr(plan, name, getattr(draft, name))
    plan.closed = _spans(draft.closed)


def people_rows(plan: RecommissioningPlan, draft: RecommissioningDraft) -> list[PlanPerson]:
    """Return the people of a draft as rows."""
    return [_person(plan, number, person) for number, person in enumerate(draft.people)]


def _person(plan: RecommissioningPlan, number: int, person: PersonDraft) -> PlanPerson:
    hours = [
        asdict(one)
        | {
            "begins_at": f"{one.begins_at:%H:%M}",
            "ends_at": f"{one.ends_at:%H:%M}",
        }
        for one in person.hours
    ]
    return PlanPerson(
        plan=plan,
        collection_id=plan.collection_id,
        sequence=number,
        name=person.name,
        skills=list(person.skills),
        cost_per_hour=person.cost_per_hour,
        hours=hours,
        away=_spans(person.away),
    )


def resource_rows(plan: RecommissioningPlan, draft: RecommissioningDraft) -> list[PlanResource]:
    """Return the resources of a draft as rows."""
    return [_resource(plan, number, one) for number, one in enumerate(draft.resources)]


def _resource(plan: RecommissioningPlan, number: int, resource: ResourceDraft) -> PlanResource:
    return PlanResource(
        plan=plan,
        collection_id=plan.collection_id,
        sequence=number,
        name=resource.name,
        capacity=resource.capacity,
        daily_cost=resource.daily_cost,
        whole_span=resource.whole_span,
        weekdays=list(resource.weekdays),
        closed=_spans(resource.closed),
        used_for=list(resource.used_for),
    )


def _spans(spans: tuple[SpanDraft, ...]) -> list[dict[str, Any]]:
    return [{"from": span.from_on.isoformat(), "to": span.to_on.isoformat()} for span in spans]


def paper_words(papers: list[DueItem]) -> list[str]:
    """Return papers that run out before the car is back on the road, in words."""
    return [f"{paper.rule.strip() or paper.kind}: last day {paper.due_on}" for paper in papers]


def live_jobs(sheets: Sheets) -> list[PlanJob]:
    """Return the jobs that are to be done, in the order of their days."""
    planned = [job for job in sheets.jobs.values() if job.state == PlanJob.State.PLANNED]
    return sorted(planned, key=lambda job: (job.sequence, job.key))
