"""The plan as a bar chart over working time, as SVG."""

import datetime
import io
from collections.abc import Sequence
from dataclasses import dataclass

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from maintenance.models import PlanJob
from maintenance.planning.jobs import AFTER_READY, SAFETY
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.sheets import live_jobs
from maintenance.services.plans.wording import name_of

_SAFETY, _OTHER, _LAST = "#b5482f", "#4a7a8c", "#7d6b9e"
_CRITICAL = "#1b1b1b"
_ROW_INCHES, _DAY_INCHES = 0.21, 1.5
#: Fixed, so that the same plan gives the same bytes.
_SALT = "idle-years"


@dataclass(frozen=True)
class _Days:
    """Working days side by side, the time between them left out."""

    days: tuple[datetime.date, ...]
    begin: float
    end: float

    def place(self, day: datetime.date, at: datetime.time | None) -> float:
        hour = self.begin if at is None else at.hour + at.minute / 60
        share = (hour - self.begin) / (self.end - self.begin)
        return self.days.index(day) + min(max(share, 0.0), 1.0)


def gantt(sheets: Sheets) -> bytes:
    """Return the jobs of a plan as bars over its working days, as SVG in UTF-8.

    The same plan gives the same bytes.
    """
    jobs = [job for job in live_jobs(sheets) if job.starts_on is not None]
    with matplotlib.rc_context({"svg.hashsalt": _SALT, "font.family": "DejaVu Sans"}):
        figure = _drawn(sheets, jobs)
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "Idle Years"})
    return out.getvalue()


def _drawn(sheets: Sheets, jobs: Sequence[PlanJob]) -> Figure:
    days = _days_of(sheets, jobs)
    count = max(len(days.days), 1)
    width = 3.6 + max(count * _DAY_INCHES, 4.0)
    height = 1.5 + max(len(jobs), 3) * _ROW_INCHES
    figure = Figure(figsize=(width, height))
    axes = figure.add_axes((3.4 / width, 0.85 / height, 1 - 3.6 / width, 1 - 1.5 / height))
    for row, job in enumerate(jobs):
        _bar(axes, row, job, days)
    _label(axes, sheets, jobs, days)
    figure.legend(handles=_keys(), loc="lower left", ncols=4, fontsize=7, frameon=False)
    return figure


def _days_of(sheets: Sheets, jobs: Sequence[PlanJob]) -> _Days:
    found = {day for job in jobs for day in (job.starts_on, job.ends_on) if day is not None}
    hours = [hours for person in sheets.people for hours in person.hours]
    begins = [_hour(one["begins_at"]) for one in hours]
    ends = [_hour(one["ends_at"]) for one in hours]
    return _Days(tuple(sorted(found)), min(begins, default=0.0), max(ends, default=24.0))


def _hour(text: str) -> float:
    at = datetime.time.fromisoformat(text)
    return at.hour + at.minute / 60


def _bar(axes: Axes, row: int, job: PlanJob, days: _Days) -> None:
    if job.starts_on is None or job.ends_on is None:
        return
    start = days.place(job.starts_on, job.starts_at)
    end = days.place(job.ends_on, job.ends_at)
    critical = job.float_days == 0
    axes.barh(
        row,
        max(end - start, 0.01),
        left=start,
        height=0.72,
        color=_colour(job),
        edgecolor=_CRITICAL if critical else "none",
        linewidth=1.0 if critical else 0.0,
    )
    axes.text(end + 0.015, row, ", ".join(job.people), va="center", fontsize=6, color="#555555")


def _colour(job: PlanJob) -> str:
    if job.phase in AFTER_READY or job.phase in ("first drive", "road test"):
        return _LAST
    return _SAFETY if job.criticality == SAFETY else _OTHER


def _label(axes: Axes, sheets: Sheets, jobs: Sequence[PlanJob], days: _Days) -> None:
    plan = sheets.plan
    axes.set_yticks(range(len(jobs)), [name_of(job) for job in jobs], fontsize=7)
    axes.set_ylim(max(len(jobs), 1) - 0.4, -0.6)
    axes.set_xlim(0, max(len(days.days), 1) + 0.12)
    axes.set_xticks(
        [place + 0.5 for place in range(len(days.days))],
        [f"{day:%a} {day.day} {day:%b %Y}" for day in days.days],
        fontsize=7,
    )
    axes.tick_params(length=0)
    for place in range(len(days.days) + 1):
        axes.axvline(place, color="#cccccc", linewidth=0.8, zorder=0)
    for spine in ("top", "right", "left"):
        axes.spines[spine].set_visible(False)
    ready = plan.result.get("ready_on") or "no plan holds"
    title = f"{plan.vehicle.registration}: ready for inspection {ready}, wanted by {plan.by}"
    axes.set_title(title, loc="left", fontsize=10, pad=10)


def _keys() -> list[Patch]:
    return [
        Patch(color=_SAFETY, label="safety"),
        Patch(color=_OTHER, label="other work"),
        Patch(color=_LAST, label="drives and inspection"),
        Patch(facecolor="white", edgecolor=_CRITICAL, label="critical: a day later, ready later"),
    ]
