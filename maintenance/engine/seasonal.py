"""Seasonal distance: in which months a car covers its year, and a band by resampling its past.

Beside the even rate of `forecast`, which the due list uses: a plan over years asks when in the year
the car is driven. Distances are floats here, for nothing that is stored follows from them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.stats import norm
from scipy.stats import t as student_t

from maintenance.engine.columns import Bools, Floats, Ints
from maintenance.engine.lay_ups import Standing, days_in_use
from maintenance.engine.odometer import Distance
from maintenance.engine.search import first_day
from maintenance.engine.wear import BAND_LEVEL

LEAST_DAYS: Final = 730
"""A profile needs readings over two years, so that each month is seen twice."""
LEAST_SEGMENTS: Final = 8
PAST_DAYS: Final = 1826
"""Segments that ended longer before the latest reading are not drawn (common practice)."""
PRIOR_DAYS: Final = 200.0
"""A month is drawn towards the even rate as if so many more days had been driven at it."""
PATHS: Final = 300
_ROUNDS: Final = 60
_SEED: Final = 8601


@dataclass(frozen=True)
class Segments:
    """Stretches between readings in which a car was in use.

    `end` is the day of the later reading [days since 1970-01-01], `distance` what was driven
    [0.1 mm], `days` the days in use by calendar month, shape (segments, 12).
    """

    vehicle: Ints
    start: Ints
    end: Ints
    distance: Floats
    days: Floats

    def of(self, rows: Ints) -> "Segments":
        """Return some of the segments."""
        return Segments(
            self.vehicle[rows], self.start[rows], self.end[rows], self.distance[rows],
            self.days[rows],
        )  # fmt: skip


def segments(distance: Distance, stands: Standing) -> Segments:
    """Return the stretches between consecutive readings of each car.

    Parameters
    ----------
    distance : Distance
        Readings of the batch.
    stands : Standing
        Timelines of the cars.

    Returns
    -------
    Segments
        Those with a day in use; what a car covers while it is laid up is left out.

    References
    ----------
    .. [1] Common practice: a standing car covers no distance.
    """
    first = np.flatnonzero(distance.vehicle[1:] == distance.vehicle[:-1])
    days = np.zeros((first.size, 12))
    for number, earlier in enumerate(first.tolist()):
        day = np.arange(distance.day[earlier], distance.day[earlier + 1])
        used = in_use(stands, int(distance.vehicle[earlier]), day)
        days[number] = np.bincount(month_of(day[used]), minlength=12)
    kept = np.flatnonzero(days.sum(axis=1) > 0)
    row = first[kept]
    gone = (distance.travelled[row + 1] - distance.travelled[row]).astype(np.float64)
    return Segments(
        distance.vehicle[row], distance.day[row], distance.day[row + 1], gone, days[kept]
    )


def in_use(stands: Standing, vehicle: int, day: Ints) -> Bools:
    """Tell on which days a car is in use.

    Parameters
    ----------
    stands : Standing
        Timelines of the cars.
    vehicle : int
        Row of the car.
    day : array of int
        Days [days since 1970-01-01].

    Returns
    -------
    array of bool
        One for each day.

    References
    ----------
    .. [1] Common practice: the day a lay-up ends is a day in use.
    """
    cars = np.full(day.size, vehicle)
    return np.asarray(days_in_use(stands, cars, day, day + 1) > 0, dtype=np.bool_)


def month_of(day: Ints) -> Ints:
    """Return the calendar month of days, 0 for January.

    Parameters
    ----------
    day : array of int
        Days [days since 1970-01-01].

    Returns
    -------
    array of int
        0 to 11 [months].

    References
    ----------
    .. [1] ISO 8601-1:2019.
    """
    month: Ints = day.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) % 12
    return month


def profile(found: Segments) -> Floats | None:
    """Return how much further a day in use of each month takes a car than an average one.

    Parameters
    ----------
    found : Segments
        Of one car, or of several that are driven alike.

    Returns
    -------
    array of float or None
        Twelve multiples of the even rate [1], their mean over the days in use 1; None where no
        car has readings over two years and at least eight segments.

    Notes
    -----
    Valid for cars whose habit has not changed. A segment over several months is shared among them
    by what the months have so far, again and again until it settles.

    References
    ----------
    .. [1] Richardson (1972) and Lucy (1974), iterative rectification of counts (memory); the pull
       towards the even rate: common practice.
    """
    cars = [car for car in np.unique(found.vehicle) if _long_enough(found, int(car))]
    found = found.of(np.flatnonzero(np.isin(found.vehicle, cars)))
    if not found.vehicle.size or not found.distance.any():
        return None
    mean = np.zeros(int(found.vehicle.max()) + 1)
    np.add.at(mean, found.vehicle, found.distance)
    driven = np.bincount(found.vehicle, weights=found.days.sum(axis=1), minlength=mean.size)
    # Each car's own distance a day is taken out, so that cars much used don't drown the others.
    level = (mean / np.maximum(driven, 1.0))[found.vehicle]
    used = level > 0
    days, gone = found.days[used], found.distance[used] / level[used]
    weights = np.ones(12)
    total = days.sum(axis=0) + PRIOR_DAYS
    for _ in range(_ROUNDS):
        ratio = gone / np.maximum(days @ weights, 1e-9)
        weights = (weights * (days * ratio[:, None]).sum(axis=0) + PRIOR_DAYS) / total
    return np.asarray(weights / np.average(weights, weights=days.sum(axis=0)), dtype=np.float64)


def _long_enough(found: Segments, car: int) -> bool:
    own = found.vehicle == car
    long = found.end[own].max() - found.start[own].min() >= LEAST_DAYS
    return bool(long and np.count_nonzero(own) >= LEAST_SEGMENTS)


@dataclass(frozen=True)
class Ahead:
    """Ways in which a car's distance may go on.

    `driven` is the distance covered by the end of each day [0.1 mm], shape (paths, days);
    `tail` the share of paths to leave out at either edge of the 80 % band.
    """

    day: Ints
    driven: Floats
    tail: float


def ahead(found: Segments, weights: Floats, day: Ints, used: Floats) -> Ahead | None:
    """Resample whole segments of a car's past into its time to come.

    Parameters
    ----------
    found : Segments
        Of one car.
    weights : array of float
        Its monthly profile, or ones [1].
    day : array of int
        Days ahead, one after the other [days since 1970-01-01].
    used : array of float
        1 for a day in use, 0 for a day laid up [1].

    Returns
    -------
    Ahead or None
        None with fewer than eight segments in the five years before the latest reading.

    Notes
    -----
    Valid for a car whose habit does not change. Segments are drawn with a little scatter of their
    own, for a short past has not seen every month; each path draws its level too, for the mean is
    not known either; and the edges are moved out by Student's t over the normal.

    References
    ----------
    .. [1] Silverman & Young (1987), the smoothed bootstrap (memory).
    .. [2] Davison & Hinkley (1997), residuals scaled for what was fitted, section 6.2 (memory).
    .. [3] Hesterberg (2015), percentiles expanded for small samples (memory).
    """
    past = found.of(np.flatnonzero(found.end > found.end.max(initial=0) - PAST_DAYS))
    count = past.vehicle.size
    if count < LEAST_SEGMENTS or not past.distance.any():
        return None
    length = past.days.sum(axis=1)
    ratio = past.distance / (past.days @ weights)
    fitted = min(_months_fitted(past, weights), count - 3.0)
    mean = float(np.average(ratio, weights=length))
    level = np.maximum(mean + (ratio - mean) * np.sqrt(count / (count - fitted)), 0.0)
    scatter = float(np.average((level - mean) ** 2, weights=length)) / mean**2
    in_use_at = np.flatnonzero(used > 0)
    season = weights[month_of(day[in_use_at])]
    driven = np.zeros((PATHS, day.size))
    for number, path in enumerate(_drawn(level, length, max(scatter, 1e-6), in_use_at.size)):
        driven[number, in_use_at] = path * season
    return Ahead(day, np.cumsum(driven, axis=1), _tail(count - fitted - 1.0))


def _months_fitted(past: Segments, weights: Floats) -> float:
    """Return how many figures the profile took from the data; one for the mean alone."""
    if np.all(weights == 1.0):
        return 1.0
    days = past.days.sum(axis=0)
    return float((days / (days + PRIOR_DAYS)).sum())


def _drawn(level: Floats, length: Floats, scatter: float, wanted: int) -> Iterator[Floats]:
    """Yield for each path the level of each day in use ahead, whole segments one after another."""
    random = np.random.default_rng(_SEED)
    count, days = level.size, length.astype(np.int64)
    kernel = count**0.4 / scatter
    draws = 8 + int(2 * wanted / days.mean())
    row = random.integers(count, size=(PATHS, draws))
    drawn = level[row] * random.gamma(kernel, 1.0 / kernel, size=row.shape)
    drawn /= random.gamma(count / scatter, scatter / count, size=(PATHS, 1))
    for path in range(PATHS):
        # A path of short segments only begins its draws again.
        yield np.resize(np.repeat(drawn[path], days[row[path]]), wanted)


def _tail(freedom: float) -> float:
    edge = np.sqrt((freedom + 1.0) / freedom) * student_t.ppf(0.5 + BAND_LEVEL / 2, freedom)
    return float(norm.cdf(-edge))


def reached(ways: Ahead, needed: Floats) -> tuple[int, int, int]:
    """Return when a distance is reached: early edge of the 80 % band, middle and late edge.

    Parameters
    ----------
    ways : Ahead
        Of one car.
    needed : array of float
        Distance to cover by each day, falling where standing counts as distance [0.1 mm].

    Returns
    -------
    tuple of int
        Days since 1970-01-01 [days], NEVER where a quantile lies beyond the days given.

    References
    ----------
    .. [1] Common practice: empirical quantiles.
    """
    first, paths = ways.day[0], ways.driven.shape[0]

    # Each path only rises and what is needed only falls, so that bisection finds the day.
    def there(rows: Ints, day: Ints) -> Bools:
        return np.asarray(ways.driven[rows, day - first] >= needed[day - first], dtype=np.bool_)

    when = np.sort(first_day(there, np.full(paths, first), np.full(paths, ways.day[-1])))
    quantiles = (ways.tail, 0.5, 1.0 - ways.tail)
    early, middle, late = (int(when[int(np.ceil(q * when.size)) - 1]) for q in quantiles)
    return early, middle, late
