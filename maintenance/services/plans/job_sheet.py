"""The job sheet of a working day, as a PDF to be printed and written on."""

import datetime
import io
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, partial
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import matplotlib
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)

from maintenance.catalogue.load import catalogue
from maintenance.models import PlanJob, PlanPart
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.sheets import live_jobs
from maintenance.services.plans.wording import long_day, name_of, times_of
from maintenance.services.refusals import Problem, Refused

_FONT, _BOLD = "DejaVuSans", "DejaVuSans-Bold"
_INK, _RULE, _SHADE = (
    colors.HexColor("#1b1b1b"),
    colors.HexColor("#8a8a8a"),
    colors.HexColor("#eeeeea"),
)
_WARNING = colors.HexColor("#8a1f11")
#: Of the text: a frame keeps 6 points free on either side.
_WIDTH = A4[0] - 36 * mm - 12
#: Longest label that takes one line [characters].
_ONE_LINE = 24
_FIRST = (
    "The maker's handbook, local law and licensed practice come before this sheet. Figures on a "
    "line are left for the handbook's: write down what you used. Never go underneath a car held "
    "by a jack alone."
)


def job_sheet(sheets: Sheets, on: datetime.date | None = None) -> bytes:
    """Return the job sheet of a day, or of every working day of the plan, as a PDF.

    The same plan gives the same bytes. Refused where no work is planned on that day.
    """
    by_day = _by_day(live_jobs(sheets))
    if on is not None and on not in by_day:
        days = ", ".join(day.isoformat() for day in sorted(by_day)) or "none"
        raise Refused([Problem("/on", f"no work is planned on {on}; days with work are: {days}")])
    _register_fonts()
    story: list[Flowable] = []
    for day in [on] if on is not None else sorted(by_day):
        story += [PageBreak()] if story else []
        story += _day(sheets, day, by_day[day])
    if not story:
        story = [Paragraph("No work is planned.", _style("text"))]
    return _document(sheets, story)


def _by_day(jobs: Iterable[PlanJob]) -> dict[datetime.date, list[PlanJob]]:
    """Jobs by each day on which they are begun or go on."""
    found: dict[datetime.date, list[PlanJob]] = {}
    planned = [job for job in jobs if job.starts_on is not None]
    days = sorted({d for job in planned for d in (job.starts_on, job.ends_on) if d is not None})
    for job in planned:
        for day in days:
            if job.starts_on is not None and job.starts_on <= day <= (job.ends_on or job.starts_on):
                found.setdefault(day, []).append(job)
    return found


@cache
def _register_fonts() -> None:
    # The PDF's own fonts know Western letters alone; these come with the plots and know more.
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name in (_FONT, _BOLD):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(_FONT, normal=_FONT, bold=_BOLD, italic=_FONT, boldItalic=_BOLD)


@cache
def _style(name: str) -> ParagraphStyle:
    text = ParagraphStyle("text", fontName=_FONT, fontSize=8.5, leading=11.5, textColor=_INK)
    styles = {
        "text": text,
        "small": ParagraphStyle("small", text, fontSize=7.5, leading=10, textColor=_RULE),
        "title": ParagraphStyle("title", text, fontName=_BOLD, fontSize=15, leading=19),
        "job": ParagraphStyle("job", text, fontName=_BOLD, fontSize=10.5, leading=14),
        "label": ParagraphStyle("label", text, fontName=_BOLD, fontSize=7.5, leading=11.5),
        "caution": ParagraphStyle("caution", text, textColor=_WARNING),
    }
    return styles[name]


def _document(sheets: Sheets, story: Sequence[Flowable]) -> bytes:
    out = io.BytesIO()
    vehicle = sheets.plan.vehicle
    template = SimpleDocTemplate(
        out,
        pagesize=A4,
        leftMargin=18 * mm,
        rightMargin=18 * mm,
        topMargin=16 * mm,
        bottomMargin=18 * mm,
        title=f"Job sheet {vehicle.registration}",
        author="Idle Years",
        lang="en-GB",
        invariant=1,
    )
    footer = partial(_footer, f"{vehicle.registration}, plan of {sheets.plan.planned_on}")
    template.build(list(story), onFirstPage=footer, onLaterPages=footer)
    return out.getvalue()


def _footer(text: str, canvas: Any, template: Any) -> None:
    canvas.setFont(_FONT, 7)
    canvas.setFillColor(_RULE)
    canvas.drawString(18 * mm + 6, 10 * mm, text)
    canvas.drawRightString(A4[0] - 18 * mm - 6, 10 * mm, f"page {template.page}")


def _day(sheets: Sheets, day: datetime.date, jobs: Sequence[PlanJob]) -> Iterator[Flowable]:
    vehicle = sheets.plan.vehicle
    people = sorted({name for job in jobs for name in job.people})
    yield Paragraph(escape(f"{vehicle.registration}  {long_day(day)}"), _style("title"))
    about = f"{vehicle.make} {vehicle.model} · {', '.join(people)} · {len(jobs)} jobs"
    yield Paragraph(escape(about), _style("text"))
    yield Spacer(0, 2 * mm)
    yield _box([Paragraph(escape(_FIRST), _style("text"))], colors.white)
    yield Spacer(0, 2 * mm)
    yield from _parts_of_the_day(sheets, day, jobs)
    seen: set[str] = set()
    for job in jobs:
        yield Spacer(0, 2.5 * mm)
        yield CondPageBreak(35 * mm)
        yield KeepTogether(list(_job(sheets, day, job, seen)))


def _parts_of_the_day(
    sheets: Sheets, day: datetime.date, jobs: Sequence[PlanJob]
) -> Iterator[Flowable]:
    begun = [job for job in jobs if job.starts_on == day]
    parts = [part for job in begun for part in sheets.parts.get(job.key, ())]
    tools = sorted({use for job in jobs for use in job.uses})
    used = sorted({name for job in jobs for name in job.consumables})
    rows = [("Parts to have at hand", [_part(part) for part in parts])]
    rows += [("Stands, tools, places", tools), ("Used up", used)]
    yield from (_lines(label, lines) for label, lines in rows if lines)


def _part(part: PlanPart) -> str:
    known = " ".join(text for text in (part.part_number, part.supplier) if text)
    return f"☐ {part.quantity} × {part.name}" + (f" ({known})" if known else "")


def _lines(label: str, lines: Iterable[str]) -> Flowable:
    text = "<br/>".join(escape(line) for line in lines)
    cells = [[Paragraph(escape(label), _style("label")), Paragraph(text, _style("text"))]]
    table = Table(cells, colWidths=[38 * mm, _WIDTH - 38 * mm])
    table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_tight(0.6)])
    return table


def _tight(space: float) -> list[tuple[Any, ...]]:
    whole = ((0, 0), (-1, -1))
    sides = [("LEFTPADDING", *whole, 0), ("RIGHTPADDING", *whole, 3 * mm)]
    return [*sides, ("TOPPADDING", *whole, space * mm), ("BOTTOMPADDING", *whole, space * mm)]


def _job(sheets: Sheets, day: datetime.date, job: PlanJob, seen: set[str]) -> Iterator[Flowable]:
    yield _head(day, job)
    yield Spacer(0, 1 * mm)
    yield _lines("Why", [job.reason])
    yield from _cautions(job, seen)
    parts = sheets.parts.get(job.key, [])
    if parts:
        yield _lines("Parts", [_part(part) for part in parts])
    if job.uses or job.consumables:
        yield _lines("Tools and used up", [", ".join([*job.uses, *job.consumables])])
    if job.sheet_fields:
        yield _fields(job.sheet_fields, 2)
    yield _fields(_ALWAYS, 3)


def _head(day: datetime.date, job: PlanJob) -> Flowable:
    goes_on = " (goes on)" if job.starts_on != day else ""
    when = f"{escape(times_of(job))}<br/>{escape(', '.join(job.people))}"
    name = Paragraph(escape(f"☐ {name_of(job)}{goes_on}"), _style("job"))
    table = Table([[name, Paragraph(when, _style("text"))]], colWidths=[_WIDTH - 48 * mm, 48 * mm])
    table.setStyle(
        [("BACKGROUND", (0, 0), (-1, -1), _SHADE), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    )
    return table


_ALWAYS = ("hours taken", "done by", "paid")


def _cautions(job: PlanJob, seen: set[str]) -> Iterator[Flowable]:
    """Each caution in full where it first stands on the sheet of a day, later by its name."""
    known = [key for key in job.cautions if key in catalogue().cautions]
    new = [key for key in known if key not in seen]
    again = [key.replace("-", " ") for key in known if key in seen]
    seen.update(new)
    if new:
        texts = [f"⚠ {escape(catalogue().cautions[key].text)}" for key in new]
        yield _box([Paragraph("<br/>".join(texts), _style("caution"))], colors.white)
    if again:
        text = escape(f"⚠ As above: {', '.join(again)}")
        yield Spacer(0, 0.8 * mm)
        yield Paragraph(text, _style("caution"))


def _fields(labels: Sequence[str], in_a_row: int) -> Flowable:
    """Blank lines to be filled in."""
    rows: list[list[Any]] = []
    for place in range(0, len(labels), in_a_row):
        cells: list[Any] = []
        for label in labels[place : place + in_a_row]:
            cells += [Paragraph(escape(label), _style("label")), ""]
        rows.append(cells + [""] * (2 * in_a_row - len(cells)))
    share = _WIDTH / in_a_row
    label_width = min(42 * mm, share * 0.45)
    table = Table(
        rows,
        colWidths=[label_width, share - label_width] * in_a_row,
        rowHeights=[(10 if max(map(len, labels)) > _ONE_LINE else 7) * mm] * len(rows),
    )
    style: list[tuple[Any, ...]] = [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *_tight(0.3)]
    for number, cells in enumerate(rows):
        for column in range(0, 2 * in_a_row, 2):
            if cells[column]:
                place_of_line = (column + 1, number)
                style.append(("LINEBELOW", place_of_line, place_of_line, 0.5, _RULE))
            if column:
                style.append(("LEFTPADDING", (column, number), (column, number), 3 * mm))
    table.setStyle(style)
    return table


def _box(content: list[Flowable], background: Any) -> Flowable:
    table = Table([[content]], colWidths=[_WIDTH])
    table.setStyle(
        [
            ("BOX", (0, 0), (-1, -1), 0.8, _WARNING),
            ("BACKGROUND", (0, 0), (-1, -1), background),
            ("TOPPADDING", (0, 0), (-1, -1), 1.2 * mm),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6 * mm),
        ]
    )
    return table
