"""Working days, orders and deliveries of a plan as a calendar (RFC 5545)."""

import datetime
import uuid
from collections.abc import Iterable, Iterator, Sequence

from icalendar import Calendar, Event

from maintenance.catalogue.load import catalogue
from maintenance.models import PlanJob, PlanPart
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.sheets import live_jobs
from maintenance.services.plans.wording import name_of, times_of

PRODUCT = "-//Idle Years//Recommissioning plan//EN"


def working_days(sheets: Sheets) -> bytes:
    """Return a plan as a calendar: an event for each working day, all-day ones for parts.

    Identifiers stay the same as long as the plan has the day or the part, and every stamp is that
    of the last planning, so that a calendar program sees only what changed.
    """
    plan = sheets.plan
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODUCT)
    calendar.add("UID", str(_uid(sheets, "plan")))
    calendar.add("NAME", f"{plan.vehicle.registration} back to the road")
    for event in [*_days(sheets), *_parts(sheets)]:
        calendar.add_component(event)
    text: bytes = calendar.to_ical()
    return text


def _uid(sheets: Sheets, what: str) -> uuid.UUID:
    return uuid.uuid5(sheets.plan.pk, what)


def _event(sheets: Sheets, what: str, summary: str, text: str) -> Event:
    stamp = sheets.plan.planned_at.replace(microsecond=0)
    event = Event()
    event.add("UID", str(_uid(sheets, what)))
    event.add("DTSTAMP", stamp)
    event.add("LAST-MODIFIED", stamp)
    # A program that meets an event again takes the one with the higher number (RFC 5546, 2.1.5).
    event.add("SEQUENCE", sheets.plan.version)
    event.add("SUMMARY", f"{sheets.plan.vehicle.registration}: {summary}")
    event.add("DESCRIPTION", text)
    event.add("STATUS", "CONFIRMED")
    return event


def _days(sheets: Sheets) -> Iterator[Event]:
    zone = sheets.plan.vehicle.collection.zone
    by_day: dict[datetime.date, list[PlanJob]] = {}
    for job in live_jobs(sheets):
        if job.starts_on is not None:
            by_day.setdefault(job.starts_on, []).append(job)
    for day, jobs in sorted(by_day.items()):
        event = _event(sheets, f"day {day}", f"{len(jobs)} jobs", _text(jobs))
        begin = min(job.starts_at for job in jobs if job.starts_at is not None)
        same_day = [job.ends_at for job in jobs if job.ends_on == day and job.ends_at is not None]
        end = max(same_day, default=begin)
        for name, at in (("DTSTART", begin), ("DTEND", end)):
            # Instants in UTC: no description of the zone is needed with them.
            event.add(name, datetime.datetime.combine(day, at, zone).astimezone(datetime.UTC))
        yield event


def _text(jobs: Sequence[PlanJob]) -> str:
    lines = [f"{times_of(job)}  {name_of(job)} ({', '.join(job.people)})" for job in jobs]
    keys = dict.fromkeys(key for job in jobs for key in job.cautions)
    known = catalogue().cautions
    cautions = [known[key].text for key in keys if key in known]
    return "\n".join([*lines, "", *(f"Caution: {text}" for text in cautions)])


def _parts(sheets: Sheets) -> Iterator[Event]:
    parts = [part for key in sheets.jobs for part in sheets.parts.get(key, ())]
    for what, day, part in _moments(parts):
        words = f"{what} {part.quantity} × {part.name}"
        needed = f"needed on {part.needed_on}" if part.needed_on else ""
        text = "\n".join(filter(None, [part.supplier, part.part_number, needed]))
        event = _event(sheets, f"{what} {part.job.key} {part.name}", words, text)
        event.add("DTSTART", day)
        event.add("TRANSP", "TRANSPARENT")
        yield event


def _moments(parts: Iterable[PlanPart]) -> Iterator[tuple[str, datetime.date, PlanPart]]:
    """The last day to order a part, and the day on which one that is ordered comes."""
    for part in parts:
        if part.order_by is not None:
            yield "order", part.order_by, part
            yield "delivery of", part.order_by + datetime.timedelta(days=part.lead_days), part
        elif part.arrives_on is not None:
            yield "delivery of", part.arrives_on, part
        elif part.ordered_on is not None:
            yield "delivery of", part.ordered_on + datetime.timedelta(days=part.lead_days), part
