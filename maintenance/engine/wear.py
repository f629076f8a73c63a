"""Measured wear: a straight line through the measurements, and where it meets the limit.

The line is of value on distance travelled since the renewal, or on days aged since then. Inside,
"use" is either of the two: kilometres or aged days.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.stats import t as student_t

from maintenance.engine.columns import Bools, Floats, Ints

BAND_LEVEL: Final = 0.80
LEAST_FOR_BAND: Final = 3
ROUNDING: Final = 1e-12
"""Share of a sum of products below which what is left of it is rounding."""
SHORTENED: Final = 0.8
"""With fewer than three measurements a safety limit is met after four fifths of the way."""


@dataclass(frozen=True)
class Points:
    """Measurements since a renewal: which item each belongs to, use [km or aged days], value.

    Sorted by item, then in the order they were made.
    """

    item: Ints
    use: Floats
    value: Floats


@dataclass(frozen=True)
class Line:
    """The fitted line of each item and where it meets the limit.

    `slope` is per unit of use and `intercept` the value at the renewal; `spread` the residual
    standard deviation, NaN without a degree of freedom. `meets`, `early` and `late` are the use
    at which the line and the edges of its band reach the limit, NaN where they do not; `due` is
    the use that governs.
    """

    count: Ints
    anchored: Bools
    slope: Floats
    intercept: Floats
    mean_use: Floats
    sum_squares: Floats
    spread: Floats
    quantile: Floats
    latest_use: Floats
    meets: Floats
    early: Floats
    late: Floats
    due: Floats


def fit(points: Points, new: Floats, limit: Floats, falls: Bools, safety: Bools) -> Line:
    """Fit a line of value on use for each item and find where it meets the limit.

    Parameters
    ----------
    points : Points
        Measurements since the renewal.
    new : array of float
        Value when new, NaN where not known [unit of the quantity].
    limit : array of float
        Minimum or maximum [unit of the quantity].
    falls : array of bool
        True where the limit is a minimum.
    safety : array of bool
        True where the early edge governs.

    Returns
    -------
    Line
        Through the value when new where that is known, else by ordinary least squares. NaN where
        there are too few points or the line does not approach the limit.

    Notes
    -----
    The band is the two-sided 80 % prediction interval of one further measurement, inverted at the
    limit. Valid while wear is proportional to use; a line is not drawn beyond what the limit asks.

    References
    ----------
    .. [1] Draper, N. R. & Smith, H., Applied Regression Analysis, 3rd ed., 1998, section 3.2,
       inverse regression (memory).
    """
    count, mean_use, mean_value, sum_squares, slope = _least_squares(points, new)
    anchored = ~np.isnan(new)
    toward = np.where(falls, -1.0, 1.0)
    intercept = np.where(anchored, new, mean_value - slope * mean_use)
    approaches = slope * toward > 0
    usable = approaches & (sum_squares > 0)
    meets = np.where(usable, (limit - intercept) / np.where(usable, slope, 1.0), np.nan)
    freedom = count - np.where(anchored, 1, 2)
    residual = points.value - (intercept[points.item] + slope[points.item] * points.use)
    squares = _sum(points.item, residual * residual, count.size)
    banded = usable & (count >= LEAST_FOR_BAND) & (freedom > 0)
    spread = np.where(banded, np.sqrt(squares / np.maximum(freedom, 1)), np.nan)
    quantile = student_t.ppf(0.5 + BAND_LEVEL / 2, np.maximum(freedom, 1))
    early, late = _edges(
        np.where(falls, -slope, slope),
        (limit - np.where(anchored, new, mean_value)) * toward,
        spread * quantile,
        sum_squares,
        np.where(anchored, 1.0, 1.0 + 1.0 / np.maximum(count, 1)),
    )
    early = np.maximum(early + mean_use, 0.0)
    late = late + mean_use
    latest_use = _latest(points, count.size)
    due = np.where(safety, np.where(banded, early, _shortened(meets, latest_use)), meets)
    return Line(
        count, anchored, slope, intercept, mean_use, sum_squares, spread, quantile, latest_use,
        meets, early, late, due,
    )  # fmt: skip


def _sum(item: Ints, weights: Floats, items: int) -> Floats:
    # bincount adds in row order, so a sum does not depend on what else is in the batch.
    return np.bincount(item, weights=weights, minlength=items).astype(np.float64)


def _least_squares(points: Points, new: Floats) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    """Return count, mean use, mean value, sum of squares about the mean and slope.

    Where the value when new is known the "mean" is the renewal itself: use 0, value when new.
    """
    items = new.size
    count = np.bincount(points.item, minlength=items)
    anchored = ~np.isnan(new)
    divisor = np.maximum(count, 1)
    mean_use = np.where(anchored, 0.0, _sum(points.item, points.use, items) / divisor)
    mean_value = np.where(anchored, new, _sum(points.item, points.value, items) / divisor)
    use = points.use - mean_use[points.item]
    value = points.value - mean_value[points.item]
    sum_squares = _sum(points.item, use * use, items)
    products = _sum(points.item, use * value, items)
    # Products that cancel leave a remainder of rounding, which is no slope.
    sizes = _sum(points.item, np.abs(use * value), items)
    slopes = (sum_squares > 0) & (count >= np.where(anchored, 1, 2))
    slopes &= np.abs(products) > ROUNDING * sizes
    slope = np.where(slopes, products / np.where(slopes, sum_squares, 1.0), 0.0)
    return count, mean_use, mean_value, sum_squares, slope


def _edges(
    slope: Floats, way: Floats, half: Floats, sum_squares: Floats, one: Floats
) -> tuple[Floats, Floats]:
    """Return the use, from the mean, at which the band's edges have come the way to the limit.

    Both solve (way − slope·z)² = half²·(one + z²/S), with slope > 0. The late edge is NaN where
    the slope is too uncertain for the band ever to pass the limit.
    """
    squares = np.where(sum_squares > 0, sum_squares, 1.0)
    a = slope * slope - half * half / squares
    b = slope * way
    c = way * way - half * half * one
    # b² − a·c, multiplied out by hand: as it stands it would be the difference of two nearly equal
    # numbers where the measurements lie on a line, and move the edges of a band of no width.
    discriminant = half * half * (one * a + way * way / squares)
    root = np.sqrt(np.maximum(discriminant, 0.0))
    steep = a > 0
    # A band so wide that it holds the limit at every use before the mean.
    always = ~steep & (c < 0) & ((discriminant < 0) | (b < 0))
    # Each root in the form that does not subtract nearly equal numbers.
    larger = np.where(b >= 0, b + root, b - root)
    divisor = np.where(larger == 0, 1.0, larger)
    by_a, by_c = larger / np.where(a == 0, 1.0, a), np.where(larger == 0, 0.0, c / divisor)
    early = np.where(steep, np.minimum(by_a, by_c), np.where(always, -np.inf, by_c))
    late = np.where(steep, np.maximum(by_a, by_c), np.nan)
    return early, late


def _latest(points: Points, items: int) -> Floats:
    latest = np.full(items, np.nan)
    latest[points.item] = points.use
    return latest


def _shortened(meets: Floats, latest_use: Floats) -> Floats:
    shortened = latest_use + SHORTENED * (meets - latest_use)
    return np.where(meets > latest_use, shortened, meets)
