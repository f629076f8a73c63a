"""A car's years, one strip a year: days in use, days laid up by grade, and what was done."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Patch

from maintenance.plots.canvas import GRADES, IN_USE, LIMIT, MARK, as_svg, sheet

MOST_YEARS = 60
_YEAR_DAYS = 366


@dataclass(frozen=True)
class Stay:
    """A lay-up, half-open, with its storage grade."""

    start: datetime.date
    end: datetime.date
    grade: str


@dataclass(frozen=True)
class YearsPicture:
    """What is drawn, from the first day to the last, both included."""

    title: str
    first: datetime.date
    last: datetime.date
    stays: tuple[Stay, ...]
    services: tuple[datetime.date, ...]
    passed: tuple[datetime.date, ...]
    failed: tuple[datetime.date, ...]


def draw_years(picture: YearsPicture) -> str:
    """Return a car's years as SVG; beyond sixty years the latest sixty."""
    last = picture.last.year
    years = range(max(picture.first.year, last - MOST_YEARS + 1), last + 1)
    figure, axes = sheet(1.2 + 0.3 * len(years))
    one_day = datetime.timedelta(days=1)
    _bar(axes, years, picture.first, picture.last + one_day, IN_USE)
    for stay in picture.stays:
        _bar(axes, years, stay.start, min(stay.end, picture.last + one_day), GRADES[stay.grade])
    for days, mark, colour, label in (
        (picture.services, "|", MARK, "service"),
        (picture.passed, "^", MARK, "inspection passed"),
        (picture.failed, "v", LIMIT, "inspection failed"),
    ):
        inside = [day for day in days if day.year in years]
        axes.plot(
            [_of_year(day) for day in inside], [day.year for day in inside],
            mark, color=colour, label=label, markersize=7,
        )  # fmt: skip
    _dress(axes, years, picture)
    return as_svg(figure, title=picture.title, description=_words(picture))


def _of_year(day: datetime.date) -> int:
    return (day - datetime.date(day.year, 1, 1)).days


def _bar(axes: Axes, years: range, start: datetime.date, end: datetime.date, colour: str) -> None:
    for year, first, length in _by_year(years, start, end):
        axes.broken_barh([(first, length)], (year - 0.4, 0.8), facecolors=colour)


def _by_year(
    years: range, start: datetime.date, end: datetime.date
) -> Iterator[tuple[int, int, int]]:
    """Cut a half-open period into years: year, first day in it, number of days."""
    for year in years:
        low = max(start, datetime.date(year, 1, 1))
        high = min(end, datetime.date(year + 1, 1, 1))
        if low < high:
            yield year, _of_year(low), (high - low).days


def _dress(axes: Axes, years: range, picture: YearsPicture) -> None:
    months = [datetime.date(2024, month, 1) for month in range(1, 13)]
    axes.set_xticks([_of_year(day) for day in months], [f"{day:%b}" for day in months])
    axes.set_yticks(list(years))
    axes.set_xlim(0, _YEAR_DAYS)
    axes.set_ylim(years[-1] + 0.6, years[0] - 0.6)
    axes.set_title(picture.title)
    used = dict.fromkeys(stay.grade for stay in picture.stays)
    patches = [Patch(color=IN_USE, label="in use")]
    patches += [Patch(color=GRADES[grade], label=f"laid up, {grade}") for grade in used]
    lines = [line for line in axes.get_lines() if len(line.get_xdata())]  # type: ignore[arg-type]
    axes.legend(
        handles=[*patches, *lines], loc="upper center", bbox_to_anchor=(0.5, -0.12 / len(years)
        - 0.06), ncols=4, frameon=False,
    )  # fmt: skip


def _words(picture: YearsPicture) -> str:
    return (
        f"From {picture.first} to {picture.last}: {len(picture.stays)} lay-ups, "
        f"{len(picture.services)} services, {len(picture.passed)} inspections passed and "
        f"{len(picture.failed)} failed."
    )
