"""Measured wear: the measurements, the line through them with its band, and the limit."""

from dataclasses import dataclass

import numpy as np

from maintenance.plots.canvas import BAND, LIMIT, LINE, MARK, as_svg, sheet


@dataclass(frozen=True)
class WearPicture:
    """What is drawn; `use` in kilometres or aged days since the renewal.

    `spread_times_t` is half the band's width far from no measurement, None without a band;
    `one`, `middle` and `squares` widen it with the distance from the middle of the measurements.
    """

    title: str
    quantity: str
    unit: str
    per: str
    use: tuple[float, ...]
    value: tuple[float, ...]
    limit: float
    slope: float | None
    intercept: float | None
    half: float | None
    one: float
    middle: float
    squares: float
    due_use: float | None


def draw_wear(picture: WearPicture) -> str:
    """Return measured wear as SVG."""
    figure, axes = sheet(4)
    end = max([*picture.use, picture.due_use or 0.0]) * 1.1 + 1.0
    axes.axhline(picture.limit, color=LIMIT, label=f"limit {picture.limit:g} {picture.unit}")
    if picture.slope is not None and picture.intercept is not None:
        use = np.linspace(0.0, end, 100)
        value = picture.intercept + picture.slope * use
        axes.plot(use, value, color=LINE, label="line through the measurements")
        if picture.half is not None:
            width = picture.half * np.sqrt(
                picture.one + (use - picture.middle) ** 2 / picture.squares
            )
            axes.fill_between(
                use, value - width, value + width, color=BAND, alpha=0.5, label="80 % band"
            )
    axes.plot(picture.use, picture.value, "o", color=MARK, label="measured")
    if picture.due_use is not None:
        axes.axvline(picture.due_use, color=LIMIT, linestyle=":", label="falls due")
    axes.set_xlim(0, end)
    axes.set_xlabel(f"since the renewal [{picture.per}]")
    axes.set_ylabel(f"{picture.quantity} [{picture.unit}]")
    axes.set_title(picture.title)
    axes.legend(loc="best", frameon=False)
    return as_svg(figure, title=picture.title, description=_words(picture))


def _words(picture: WearPicture) -> str:
    measured = ", ".join(f"{value:g}" for value in picture.value) or "nothing"
    due = "no use at which it falls due"
    if picture.due_use is not None:
        due = f"falls due at {picture.due_use:.0f} {picture.per}"
    return (
        f"Measured {picture.quantity}: {measured} {picture.unit}; limit {picture.limit:g} "
        f"{picture.unit}; {due}."
    )
