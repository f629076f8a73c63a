"""A plan's jobs in the words and figures of what is printed, drawn and sent."""

import datetime

from maintenance.catalogue.load import catalogue
from maintenance.models import PlanJob

_WHOLE = ("whole-car",)
#: Work on no component: what was done for standing is undone.
LAY_UP_PREPARATIONS = "lay-up-preparations"
#: Stands where a component's kind does for the inspection of the whole car.
_NAMED = {"roadworthiness-inspection": "Roadworthiness inspection"}


def job_name(task: str, kind: str, position: str) -> str:
    """Return a job as people call it: "Renew brake hose, front left"."""
    if kind in _NAMED:
        return _NAMED[kind]
    known = catalogue().kinds.get(kind)
    thing = known.name if known else kind.replace("-", " ")
    words = task.replace("_", " ") if kind in _WHOLE else f"{task.replace('_', ' ')} {thing}"
    name = words[:1].upper() + words[1:]
    return f"{name}, {position}" if position else name


def name_of(job: PlanJob) -> str:
    """Return a job as people call it."""
    return job_name(job.task, job.kind, job.position)


def told_in_full(job: PlanJob) -> str:
    """Return a job as it is printed: one that undoes a lay-up names what there is to undo."""
    name = name_of(job)
    return f"{name}: {job.reason}" if job.kind == LAY_UP_PREPARATIONS else name


def times_of(job: PlanJob) -> str:
    """Return from when to when a job is planned, on its day or over several."""
    if job.starts_at is None or job.ends_at is None:
        return ""
    end = f"{job.ends_at:%H:%M}"
    if job.ends_on is not None and job.ends_on != job.starts_on:
        end = f"{job.ends_on:%d %b} {end}"
    return f"{job.starts_at:%H:%M}-{end}"


def long_day(day: datetime.date) -> str:
    """Return a day as a job sheet is headed: "Saturday 28 November 2026"."""
    return f"{day:%A} {day.day} {day:%B %Y}"
