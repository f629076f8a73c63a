"""The distance criterion: kilometres since the work, with a penalty for months of standing."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from maintenance.engine.columns import Bools, Ints
from maintenance.engine.context import Context
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.lay_ups import laid_up_days
from maintenance.engine.odometer import Rate, share, shown_at
from maintenance.engine.search import first_day
from maintenance.engine.units import MEAN_MONTH_DAYS


@dataclass(frozen=True)
class ByDistance:
    """The distance criterion of each item; distances in tenths of a millimetre.

    `at_start` and `on_day` are the true distance at the resetting entry and on the day asked
    about, `standing` the penalty by then. `day`, `early` and `late` are the due day at the central
    rate and at the edges of the band, `warn_day` the day the warning distance is reached, NEVER
    where they are not. `shown` is the reading at which the item falls due if the car is not laid
    up again, in tenths of the odometer unit, -1 where there is no reading to count from.
    """

    asked: Bools
    at_start: Ints
    on_day: Ints
    standing: Ints
    day: Ints
    early: Ints
    late: Ints
    warn_day: Ints
    shown: Ints


def standing_distance(per_month: Ints, days: Ints) -> Ints:
    """Return the distance that standing counts for.

    Parameters
    ----------
    per_month : array of int
        Penalty for each mean month [0.1 mm].
    days : array of int
        Days laid up [days].

    Returns
    -------
    array of int
        Distance [0.1 mm], `per_month × days ÷ 30.436875` rounded down.

    References
    ----------
    .. [1] Gregorian calendar: 146 097 days in 4 800 months.
    """
    return share(days, per_month * MEAN_MONTH_DAYS[1], np.full(days.size, MEAN_MONTH_DAYS[0]))


def by_distance(shared: Context, start: Ints) -> ByDistance:
    """Return when the distance of each item's rule is reached.

    Parameters
    ----------
    shared : Context
        The batch as known on the day asked about.
    start : array of int
        Day of each item's resetting entry, NO_DAY where there is none [days since 1970-01-01].

    Returns
    -------
    ByDistance
        One row an item. A car without readings is carried by the keeper's expected distance.

    References
    ----------
    .. [1] Common practice: whichever comes first, time or distance.
    """
    batch, rule = shared.batch, shared.batch.items.rule
    asked = (batch.rules.distance[rule] >= 0) & (start != NO_DAY)
    rows = np.flatnonzero(asked)
    vehicle = batch.components.vehicle[batch.items.component[rows]]
    rates = shared.forecast
    limit = batch.rules.distance[rule[rows]]
    warn = np.maximum(limit - batch.rules.warn_distance[rule[rows]], 0)
    count = _Counter(shared, vehicle, start[rows], batch.rules.standing_per_month[rule[rows]])
    on = np.full(rows.size, shared.on)
    travelled, penalty = count.parts(np.arange(rows.size), on, rates.central.of(vehicle))
    days = count.first_each(
        [
            (limit, rates.central.of(vehicle)),
            (limit, rates.early.of(vehicle)),
            (limit, rates.late.of(vehicle)),
            (warn, rates.central.of(vehicle)),
        ]
    )
    shown = (
        shown_at(shared.distance, batch.vehicles, vehicle, count.at_start + limit - penalty)
        if shared.distance.day.size
        else np.full(rows.size, -1)
    )
    return ByDistance(
        asked=asked,
        at_start=_all(asked, count.at_start, 0),
        on_day=_all(asked, travelled, 0),
        standing=_all(asked, penalty, 0),
        day=_all(asked, days[0], NEVER),
        early=_all(asked, days[1], NEVER),
        late=_all(asked, days[2], NEVER),
        warn_day=_all(asked, days[3], NEVER),
        shown=_all(asked, shown, -1),
    )


def _all(asked: Bools, values: Ints, elsewhere: int | np.int64) -> Ints:
    column = np.full(asked.size, elsewhere, dtype=np.int64)
    column[asked] = values
    return column


class _Counter:
    """Distance counted against items since their start."""

    def __init__(self, shared: Context, vehicle: Ints, start: Ints, per_month: Ints) -> None:
        self.shared, self.vehicle, self.start = shared, vehicle, start
        self.per_month = per_month
        self.at_start = shared.travelled(vehicle, start)

    def parts(self, rows: Ints, day: Ints, onward: Rate) -> tuple[Ints, Ints]:
        vehicle = self.vehicle[rows]
        laid_up = laid_up_days(self.shared.stands, vehicle, self.start[rows], day)
        return (
            self.shared.travelled(vehicle, day, onward),
            standing_distance(self.per_month[rows], laid_up),
        )

    def first_each(self, asked: Sequence[tuple[Ints, Rate]]) -> list[Ints]:
        """Return the day on which each limit is reached at its rate, all in one search."""
        size, times = self.start.size, len(asked)
        limit = np.concatenate([one for one, _ in asked])
        onward = Rate(
            np.concatenate([rate.distance for _, rate in asked]),
            np.concatenate([rate.days for _, rate in asked]),
        )

        low = np.tile(self.start, times)
        # A start after the latest reading lies on the forecast too: both ends go at one rate.
        at_start = self.shared.travelled(np.tile(self.vehicle, times), low, onward)

        def reached(rows: Ints, day: Ints) -> Bools:
            travelled, penalty = self.parts(rows % size, day, onward.of(rows))
            return travelled - at_start[rows] + penalty >= limit[rows]

        days = first_day(reached, low, np.full(low.size, self.shared.horizon))
        return np.split(days, times)


def day_travelled(
    shared: Context, vehicle: Ints, start: Ints, distance: Ints, onward: Rate
) -> Ints:
    """Return the smallest day on which cars have covered a distance since a day.

    Parameters
    ----------
    shared : Context
        The batch as known on the day asked about.
    vehicle, start : arrays of int
        Car and first day [days since 1970-01-01] of each row.
    distance : array of int
        Distance to cover [0.1 mm].
    onward : Rate
        Rate after the latest reading, for each row.

    Returns
    -------
    array of int
        Days since 1970-01-01 [days], NEVER beyond the horizon.

    References
    ----------
    .. [1] Common practice: due on the first day on which the limit is reached.
    """
    counter = _Counter(shared, vehicle, start, np.zeros(vehicle.size, dtype=np.int64))
    return counter.first_each([(distance, onward)])[0]
