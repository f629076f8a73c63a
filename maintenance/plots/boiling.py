"""The boiling point of hydraulic fluid against time, with the minima of its grade."""

import datetime
from dataclasses import dataclass

from maintenance.plots.canvas import BAND, LIMIT, LINE, MARK, as_svg, sheet


@dataclass(frozen=True)
class BoilingPicture:
    """What is drawn: the band of the boiling point [°C] on days, and today."""

    title: str
    grade: str
    days: tuple[datetime.date, ...]
    low: tuple[float, ...]
    central: tuple[float, ...]
    high: tuple[float, ...]
    dry_c: float
    wet_c: float
    today: datetime.date


def draw_boiling(picture: BoilingPicture) -> str:
    """Return the boiling point against time as SVG."""
    figure, axes = sheet(4)
    # The stubs of the library know numbers only; it draws dates all the same.
    days: list[datetime.date] = list(picture.days)
    axes.fill_between(
        days,  # type: ignore[arg-type]
        picture.low, picture.high, color=BAND, alpha=0.5, label="band of the trade's figures",
    )  # fmt: skip
    axes.plot(days, picture.central, color=LINE, label="estimate")  # type: ignore[arg-type]
    axes.axhline(picture.dry_c, color=MARK, linestyle=":", label=f"{picture.grade}, dry minimum")
    axes.axhline(picture.wet_c, color=LIMIT, label=f"{picture.grade}, wet minimum")
    axes.axvline(picture.today, color=MARK, linewidth=0.8, label="today")  # type: ignore[arg-type]
    axes.set_ylabel("boiling point [°C]")
    axes.set_title(picture.title)
    axes.legend(loc="best", frameon=False)
    return as_svg(figure, title=picture.title, description=_words(picture))


def _words(picture: BoilingPicture) -> str:
    first, last = picture.central[0], picture.central[-1]
    return (
        f"Estimated boiling point of {picture.grade} fluid that just meets its grade: {first:.0f} "
        f"°C on {picture.days[0]}, {last:.0f} °C on {picture.days[-1]}; wet minimum "
        f"{picture.wet_c:.0f} °C."
    )
