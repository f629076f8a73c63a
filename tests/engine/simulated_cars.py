"""Cars whose every day is known, to hold forecasts against what truly came."""

import datetime
from dataclasses import dataclass, replace

import numpy as np

from maintenance.engine.by_distance import day_travelled
from maintenance.engine.columns import Batch
from maintenance.engine.days import to_day
from tests.engine.columns_from_history import fleet_of
from tests.strategies import Case

TODAY = datetime.date(2026, 4, 5)
ON = to_day(TODAY)
BEHIND, AHEAD = 3 * 365 + 5, 4 * 365
KM = 10_000_000
OUT = 0.3


@dataclass(frozen=True)
class SimulatedCar:
    """A car with three years of readings, a distance wanted from today, and when it is due."""

    batch: Batch
    wanted: int
    due: int


def simulated_car(seed):
    random = np.random.default_rng(seed)
    days = np.arange(ON - BEHIND, ON + AHEAD)
    dates = [datetime.date(1970, 1, 1) + datetime.timedelta(days=int(day)) for day in days]
    used = np.array([not _in_store(date) for date in dates])
    expected, driven = _kilometres(random, dates)
    expected, driven = expected * used, driven * used
    total = np.concatenate([[0.0], np.cumsum(driven)])
    past = np.flatnonzero(days < ON)
    seen = [at for at in past[::-1][:: int(random.integers(26, 35))][::-1] if used[at]]
    readings = [{"on": dates[at].isoformat(), "value": round(20_000 + total[at], 1)} for at in seen]
    readings.append({"on": TODAY.isoformat(), "value": round(20_000 + total[past.size], 1)})
    case = Case(_vehicle(readings, dates), [], None, TODAY.isoformat())
    # A limit knows nothing of the luck of the past years: it is set against the car's true habit.
    wanted = float(random.uniform(0.5, 1.5)) * expected.sum() / (len(dates) / 365)
    ahead = total[past.size :] - total[past.size]
    return SimulatedCar(
        fleet_of([case]).batch, int(wanted * KM), int(ON + np.argmax(ahead[1:] >= wanted))
    )


def _in_store(date):
    return (date.month, date.day) >= (11, 5) or (date.month, date.day) < (3, 25)


def _kilometres(random, dates):
    """A day's distance, expected and driven: the season, fortnights that differ, days at home."""
    peak, swing = random.uniform(5, 8), random.uniform(0.2, 0.9)
    season = np.array([1 + swing * np.cos(2 * np.pi * (date.month - peak) / 12) for date in dates])
    fortnight = np.repeat(random.gamma(2.0, 0.5, size=len(dates) // 14 + 1), 14)[: len(dates)]
    out = random.random(len(dates)) < OUT
    trip = random.uniform(15, 60) * season
    return OUT * trip, trip * fortnight * out * random.gamma(2.0, 0.5, len(dates))


def _vehicle(readings, dates):
    years = range(dates[0].year - 1, dates[-1].year)
    stays = [
        {"from": f"{year}-11-05", "to": f"{year + 1}-03-25", "expected_to": None, "storage": "dry"}
        for year in years
    ]
    return {
        "first_registered_on": "1968-05-01", "built_on": None, "substantially_changed": None,
        "odometer_unit": "km", "odometer_digits": 6, "expected_annual_distance": None,
        "season_from_month": None, "season_to_month": None, "lay_ups": stays, "components": [],
        "service_events": [], "inspections": [], "odometer_changes": [],
        "odometer_readings": readings,
    }  # fmt: skip


def even_band(shared, wanted):
    """The days that the due list would give as the edges of its band."""
    car, start, far = np.array([0]), np.array([ON]), np.array([wanted])
    shared = replace(shared, horizon=ON + AHEAD)
    return tuple(
        int(day_travelled(shared, car, start, far, rate.of(car))[0])
        for rate in (shared.forecast.early, shared.forecast.late)
    )
