"""The sheet that all pictures are drawn on: size, colours, and the way to SVG."""

import io
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

LINE, BAND, LIMIT, MARK = "#1f4e79", "#9dbbd8", "#b3261e", "#333333"
GRADES = {"heated": "#f2c14e", "dry": "#a9bcd0", "damp": "#4f7cac", "outdoors": "#5b8c5a"}
IN_USE = "#e9e4d8"

_STYLE = {
    # Text stays text, so that a reader can search it and a screen reader can say it.
    "svg.fonttype": "none",
    # Without a fixed salt the same picture would come out as other bytes each time.
    "svg.hashsalt": "idle-years",
    "font.size": 9,
}


def sheet(height: float) -> tuple[Figure, Axes]:
    """Return an empty picture eight inches wide with one pair of axes."""
    figure = Figure(figsize=(8, height), layout="constrained")
    FigureCanvasSVG(figure)
    axes = figure.subplots()
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return figure, axes


def as_svg(figure: Figure, *, title: str, description: str) -> str:
    """Return a picture as SVG, with its words for those who don't see it."""
    text = io.StringIO()
    metadata: dict[str, Any] = {"Title": title, "Description": description, "Date": None}
    with mpl.rc_context(_STYLE):  # type: ignore[arg-type]
        figure.savefig(text, format="svg", metadata=metadata)
    return text.getvalue()
