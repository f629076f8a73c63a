"""What is wrong with what a plan is asked for, field by field."""

import datetime
import re
from collections.abc import Iterator, Sequence

from maintenance.catalogue.job_rules import job_rules
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import TASKS
from maintenance.services.checks.cars import kind_problems
from maintenance.services.checks.figures import money_problems, text_problems
from maintenance.services.plans.terms import (
    LONGEST_SEARCH,
    WEEKDAYS,
    OfferDraft,
    PersonDraft,
    RecommissioningDraft,
    ResourceDraft,
    SpanDraft,
    VisitDraft,
)
from maintenance.services.refusals import Problem

_CURRENCY = re.compile(r"[A-Z]{3}")
LONGEST_PLAN_DAYS = 5 * 366
#: What a keeper may want done: the tasks of rules, and putting right.
WISHES = (*TASKS, "repair", "refinish")
MOST_PEOPLE, MOST_RESOURCES, MOST_SPANS = 20, 30, 100


def draft_problems(draft: RecommissioningDraft, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with the terms of a recommissioning plan made today."""
    if draft.starts_on < today:
        yield Problem("/starts_on", f"{draft.starts_on} is before today, {today}")
    yield from _deadline_problems(draft)
    yield from _money_terms(draft)
    if not 1 <= draft.time_limit <= LONGEST_SEARCH:
        yield Problem("/time_limit", f"{draft.time_limit} is out of range; give 1 to 20 seconds")
    if not 0 <= draft.seed < 2**31:
        yield Problem("/seed", "is out of range; give a whole number from 0")
    yield from _span_problems("/closed", draft.closed)
    yield from _people_problems(draft.people)
    yield from _resource_problems(draft.resources)


def _deadline_problems(draft: RecommissioningDraft) -> Iterator[Problem]:
    if draft.by < draft.starts_on:
        yield Problem("/by", f"{draft.by} is before the work begins, {draft.starts_on}")
    elif (draft.by - draft.starts_on).days > LONGEST_PLAN_DAYS:
        yield Problem("/by", "is more than five years after the work begins; plan a shorter time")


def _money_terms(draft: RecommissioningDraft) -> Iterator[Problem]:
    yield from money_problems("/budget", draft.budget)
    yield from money_problems("/rate_per_hour", draft.rate_per_hour)
    yield from currency_problems("/currency", draft.currency)
    paid = [draft.rate_per_hour, *(person.cost_per_hour for person in draft.people)]
    paid += [resource.daily_cost for resource in draft.resources]
    if not draft.currency and (draft.budget is not None or any(paid)):
        yield Problem("/currency", "is missing; money needs its currency, such as EUR")


def currency_problems(pointer: str, currency: str) -> Iterator[Problem]:
    """Tell what is wrong with a currency that may be empty."""
    if currency and not _CURRENCY.fullmatch(currency):
        text = f"{currency!r} is no currency; give the three letters of ISO 4217, such as EUR"
        yield Problem(pointer, text)


def _people_problems(people: Sequence[PersonDraft]) -> Iterator[Problem]:
    if not 1 <= len(people) <= MOST_PEOPLE:
        yield Problem("/people", f"are {len(people)}; give 1 to {MOST_PEOPLE}")
    for place, person in enumerate(people):
        pointer = f"/people/{place}"
        yield from text_problems(f"{pointer}/name", person.name, longest=80, required=True)
        if person.name in [other.name for other in people[:place]]:
            yield Problem(f"{pointer}/name", "stands twice; tell the people apart")
        yield from money_problems(f"{pointer}/cost_per_hour", person.cost_per_hour)
        yield from _span_problems(f"{pointer}/away", person.away)
        if not person.hours:
            yield Problem(f"{pointer}/hours", "is empty; give the hours of at least one weekday")
        for number, hours in enumerate(person.hours):
            yield from _weekday_problems(f"{pointer}/hours/{number}/weekday", hours.weekday)
            if hours.ends_at <= hours.begins_at:
                text = f"{hours.ends_at:%H:%M} is not after {hours.begins_at:%H:%M}"
                yield Problem(f"{pointer}/hours/{number}/ends_at", text)


def _resource_problems(resources: Sequence[ResourceDraft]) -> Iterator[Problem]:
    if len(resources) > MOST_RESOURCES:
        yield Problem("/resources", f"are {len(resources)}; give at most {MOST_RESOURCES}")
    for place, resource in enumerate(resources):
        pointer = f"/resources/{place}"
        yield from text_problems(f"{pointer}/name", resource.name, longest=80, required=True)
        if resource.name in [other.name for other in resources[:place]]:
            yield Problem(f"{pointer}/name", "stands twice; give its capacity once")
        if not 1 <= resource.capacity <= 100:
            yield Problem(f"{pointer}/capacity", f"{resource.capacity} is out of range: 1 to 100")
        yield from money_problems(f"{pointer}/daily_cost", resource.daily_cost)
        yield from _span_problems(f"{pointer}/closed", resource.closed)
        for number, weekday in enumerate(resource.weekdays):
            yield from _weekday_problems(f"{pointer}/weekdays/{number}", weekday)
        yield from _use_problems(pointer, resource)


def _use_problems(pointer: str, resource: ResourceDraft) -> Iterator[Problem]:
    """Tell of a resource that no job can ever use: it would be paid for and forgotten."""
    known = [row.name for row in job_rules().resources]
    if resource.name not in known and not resource.used_for:
        words = unknown("resource", resource.name, known)
        text = f"{words}; for anything else say in used_for which component kinds need it"
        yield Problem(f"{pointer}/name", text)
    for number, kind in enumerate(resource.used_for):
        yield from kind_problems(f"{pointer}/used_for/{number}", kind)


def _weekday_problems(pointer: str, weekday: str) -> Iterator[Problem]:
    if weekday not in WEEKDAYS:
        yield Problem(pointer, unknown("weekday", weekday, WEEKDAYS))


def _span_problems(pointer: str, spans: Sequence[SpanDraft]) -> Iterator[Problem]:
    if len(spans) > MOST_SPANS:
        yield Problem(pointer, f"are {len(spans)}; give at most {MOST_SPANS}")
    for place, span in enumerate(spans):
        if span.to_on < span.from_on:
            yield Problem(f"{pointer}/{place}/to", f"{span.to_on} is before {span.from_on}")


def offer_problems(draft: OfferDraft) -> Iterator[Problem]:
    """Tell what is wrong with an offer of a part."""
    yield from kind_problems("/kind", draft.kind)
    yield from text_problems("/name", draft.name, longest=120, required=True)
    for name, longest in (("position", 60), ("make", 60), ("model", 60), ("part_number", 80)):
        yield from text_problems(f"/{name}", getattr(draft, name), longest=longest)
    yield from text_problems("/supplier", draft.supplier, longest=120)
    yield from money_problems("/price", draft.price)
    if not draft.currency:
        yield Problem("/currency", "is missing; a price needs its currency, such as EUR")
    yield from currency_problems("/currency", draft.currency)
    if not 1 <= draft.quantity <= 1000:
        yield Problem("/quantity", f"{draft.quantity} is out of range; give 1 to 1000")
    if not 0 <= draft.lead_days <= 1000:
        yield Problem("/lead_days", f"{draft.lead_days} is out of range; give 0 to 1000 days")
    if draft.model and not draft.make:
        yield Problem("/make", "is missing; a model needs its make")


def wish_problems(kind: str, task: str) -> Iterator[Problem]:
    """Tell what is wrong with a piece of work that the keeper wants."""
    yield from kind_problems("/kind", kind)
    if task not in WISHES:
        yield Problem("/task", unknown("task", task, WISHES))


def visit_problems(draft: VisitDraft) -> Iterator[Problem]:
    """Tell what is wrong with the terms of a plan of visits."""
    if not 1 <= draft.months <= 60:
        yield Problem("/months", f"{draft.months} is out of range; give 1 to 60")
    for name in ("cost_of_visit", "rate_per_hour", "late_per_day"):
        yield from money_problems(f"/{name}", getattr(draft, name))
    if not draft.currency:
        yield Problem("/currency", "is missing; money needs its currency, such as EUR")
    yield from currency_problems("/currency", draft.currency)
    if draft.hours_per_week is not None and not 0 < draft.hours_per_week <= 168:
        yield Problem("/hours_per_week", "is out of range; give more than 0, at most 168 hours")
    if not draft.weekdays:
        yield Problem("/weekdays", "is empty; give the days on which the workshop is open")
    for number, weekday in enumerate(draft.weekdays):
        yield from _weekday_problems(f"/weekdays/{number}", weekday)
    yield from _span_problems("/closed", draft.closed)
    if not 1 <= draft.time_limit <= LONGEST_SEARCH:
        yield Problem("/time_limit", f"{draft.time_limit} is out of range; give 1 to 20 seconds")
