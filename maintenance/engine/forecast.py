"""How far a car will go: the rate per day in use, and a band around it."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.engine.columns import Bools, Ints, Vehicles
from maintenance.engine.lay_ups import Standing, days_in_use
from maintenance.engine.odometer import Distance, Rate
from maintenance.engine.units import MEAN_YEAR_DAYS

WINDOW_DAYS: Final = 730
"""Readings older than this before the latest one say nothing about the rate (common practice)."""
LEAST_DAYS_IN_USE: Final = 28
"""Fewer days in use than this between readings give no rate (common practice)."""
SHARE_DAYS: Final = 1826
"""The share of days in use is taken over the five years before the day asked about."""
LEAST_SHARE: Final = (1, 4)
BAND: Final = ((9, 10), (1, 10))
"""Quantiles of the segment rates at the early and the late edge of the 80 % band."""


@dataclass(frozen=True)
class Forecast:
    """Rates of each car in distance per day in use: central, and at the edges of the band.

    `from_readings` tells whether the central rate was read off the odometer; elsewhere it is the
    keeper's word and the edges equal it. `window_first` is the row of the reading it starts from,
    `used` the days in use of the last `SHARE_DAYS`.
    """

    central: Rate
    early: Rate
    late: Rate
    from_readings: Bools
    window_first: Ints
    used: Ints

    def of(self, rows: Ints) -> "Forecast":
        """Return the rates of some cars."""
        return Forecast(
            self.central.of(rows), self.early.of(rows), self.late.of(rows),
            self.from_readings[rows], self.window_first[rows], self.used[rows],
        )  # fmt: skip


def forecast(distance: Distance, vehicles: Vehicles, stands: Standing, on: int) -> Forecast:
    """Return the rate of each car per day in use as known on a day.

    Parameters
    ----------
    distance : Distance
        Readings of the batch.
    vehicles : Vehicles
        With the keeper's expected annual distance.
    stands : Standing
        Timelines of the cars.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    Forecast
        From readings where these are far enough apart, else from the expected annual distance
        spread over the share of days in use, else unknown (days 0).

    References
    ----------
    .. [1] Common practice: a car that stands in winter covers its year in the other months.
    """
    cars = np.arange(vehicles.odometer_unit.size)
    expected, used = _expected(vehicles, stands, cars, on)
    if not distance.day.size:
        nothing = np.full(cars.size, -1, dtype=np.int64)
        return Forecast(expected, expected, expected, nothing >= 0, nothing, used)
    last = np.clip(distance.first + distance.count - 1, 0, None)
    oldest = distance.day[last] - WINDOW_DAYS
    keys_from = distance.key[last] - WINDOW_DAYS
    opening = np.minimum(np.searchsorted(distance.key, keys_from, "left"), last)
    days = days_in_use(stands, cars, np.maximum(distance.day[opening], oldest), distance.day[last])
    from_readings = (distance.count > 0) & (days >= LEAST_DAYS_IN_USE)
    travelled = distance.travelled[last] - distance.travelled[opening]
    central = Rate(
        np.where(from_readings, travelled, expected.distance),
        np.where(from_readings, days, expected.days),
    )
    early, late = _band(distance, stands, central, from_readings, opening)
    return Forecast(central, early, late, from_readings, opening, used)


def _expected(vehicles: Vehicles, stands: Standing, cars: Ints, on: int) -> tuple[Rate, Ints]:
    used = days_in_use(stands, cars, np.full(cars.size, on - SHARE_DAYS), np.full(cars.size, on))
    # The share is used / SHARE_DAYS or the least share, kept as a fraction of whole numbers.
    enough = used * LEAST_SHARE[1] >= SHARE_DAYS * LEAST_SHARE[0]
    numerator = np.where(enough, SHARE_DAYS, LEAST_SHARE[1])
    denominator = np.where(enough, used, LEAST_SHARE[0])
    yearly = vehicles.expected_annual * vehicles.odometer_unit
    known = vehicles.expected_annual >= 0
    return Rate(
        np.where(known, yearly * MEAN_YEAR_DAYS[1] * numerator, 0),
        np.where(known, MEAN_YEAR_DAYS[0] * denominator, 0),
    ), used


def _band(
    distance: Distance, stands: Standing, central: Rate, from_readings: Bools, opening: Ints
) -> tuple[Rate, Rate]:
    segment = np.flatnonzero(distance.vehicle[1:] == distance.vehicle[:-1])
    car = distance.vehicle[segment]
    days = days_in_use(stands, car, distance.day[segment], distance.day[segment + 1])
    kept = from_readings[car] & (segment >= opening[car]) & (days > 0)
    segment, car, days = segment[kept], car[kept], days[kept]
    travelled = distance.travelled[segment + 1] - distance.travelled[segment]
    order = np.lexsort((travelled / days, car))
    car, days, travelled = car[order], days[order], travelled[order]
    first = np.searchsorted(car, np.arange(central.days.size))
    total = np.bincount(car, weights=days, minlength=central.days.size).astype(np.int64)
    weight = np.cumsum(days)
    weight -= (weight - days)[first[car]]
    edges = []
    for part, whole in BAND:
        reached = np.flatnonzero(weight * whole >= total[car] * part)
        # The first row of each car that reaches the quantile: rows are in order within a car.
        cars, place = np.unique(car[reached], return_index=True)
        edge_distance, edge_days = central.distance.copy(), central.days.copy()
        edge_distance[cars] = travelled[reached[place]]
        edge_days[cars] = days[reached[place]]
        edges.append(Rate(edge_distance, edge_days))
    return edges[0], edges[1]
