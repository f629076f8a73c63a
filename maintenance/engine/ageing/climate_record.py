"""A keeper's own record of a store's temperature and humidity, in place of a grade's constants."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.estimate import BoolArray, FloatArray
from maintenance.engine.days import NO_DAY, DayArray

TEMPERATURE_RANGE_C = (-40.0, 60.0)  # what a store in the inhabited world can show, common practice
HUMIDITY_RANGE = (0.0, 100.0)  # [%RH], by definition
LONGEST_GAP_DAYS = 14  # beyond a fortnight the weather between two rows is a guess, common practice


class ClimateRecordError(ValueError):
    """A measured record that can't be used; `problems` names each bad row."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = tuple(problems)


def measured_climate(
    day: ArrayLike,
    temperature_c: ArrayLike,
    humidity: ArrayLike,
    *,
    outdoors: bool = False,
    name: str = "measured record",
    first_row: int = 1,
) -> StoreClimate:
    """Turn a keeper's record into a store's climate.

    Parameters
    ----------
    day : array_like
        Day of each reading in order, days since 1970-01-01 [days]; several a day are fine.
    temperature_c : array_like
        Air temperature [°C].
    humidity : array_like
        Relative humidity [%RH].
    outdoors : bool
        Whether sun, rain and ozone reach the car.
    name : str
        What the working calls the record.
    first_row : int
        Number of the first row in the keeper's file, for the refusals.

    Returns
    -------
    StoreClimate
        Each reading stands for its share of the days nearest to it.

    Raises
    ------
    ClimateRecordError
        For columns of unequal length, no rows, nan, days out of order, a gap of more than 14 days,
        or a value outside −40 to 60 °C or 0 to 100 %RH; every bad row is named.

    Notes
    -----
    Valid for the days of the record; `month_by_month` says which days of a stay those are.

    References
    ----------
    .. [1] Limits and nearest-day weighting: common practice.
    """
    days, temperatures, humidities = (
        np.atleast_1d(np.asarray(column, dtype=np.float64))
        for column in (day, temperature_c, humidity)
    )
    problems = _record_problems(days, temperatures, humidities, first_row)
    if problems:
        raise ClimateRecordError(problems)
    whole_days = days.astype(np.int64)
    return StoreClimate(
        name, _row_weights(whole_days), temperatures, humidities, whole_days, outdoors, name
    )


class MeasuredDays(NamedTuple):
    """Days of a stay in a row: of one month as measured, or `climate` None where nothing was."""

    start: int
    end: int
    climate: StoreClimate | None


def month_by_month(record: StoreClimate, from_day: int, to_day: int) -> list[MeasuredDays]:
    """Cut a stay into the months that were measured and the days that were not.

    Parameters
    ----------
    record : StoreClimate
        A measured record; where it was silent for more than a fortnight nothing was measured.
    from_day, to_day : int
        The half-open stay, days since 1970-01-01 [days].

    Returns
    -------
    list of MeasuredDays
        In order of days, together the whole stay; weights add up to the days of each.

    Raises
    ------
    ValueError
        If the stay has no days.

    Notes
    -----
    Valid for any stay of a day or more. Each day takes the readings of the nearest day that has
    any, half of each where two are as near.

    References
    ----------
    .. [1] Calendar months and nearest-day weighting: common practice.
    """
    if to_day <= from_day:
        raise ValueError(f"the lay-up from day {from_day} to day {to_day} has no days")
    days = np.arange(from_day, to_day)
    nearest = _nearest(record, days)
    month = days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    part = np.where(nearest[0] != NO_DAY, month, NO_DAY)
    cuts = [0, *(np.flatnonzero(np.diff(part)) + 1), days.size]
    return [
        MeasuredDays(
            int(days[first]),
            int(days[last - 1]) + 1,
            _cut(record, nearest[:, first:last]) if nearest[0, first] != NO_DAY else None,
        )
        for first, last in pairwise(cuts)
    ]


def measured_in(record: StoreClimate, from_day: int, to_day: int) -> StoreClimate | None:
    """Return what was measured in a stay, without the days on which nothing was.

    Parameters
    ----------
    record : StoreClimate
        A measured record.
    from_day, to_day : int
        The half-open stay, days since 1970-01-01 [days].

    Returns
    -------
    StoreClimate or None
        Weights add up to the days that were measured; None where none was.

    Notes
    -----
    Valid as `month_by_month`.

    References
    ----------
    .. [1] As `month_by_month`.
    """
    nearest = _nearest(record, np.arange(from_day, to_day))
    covered = nearest[:, nearest[0] != NO_DAY]
    return _cut(record, covered) if covered.size else None


def _nearest(record: StoreClimate, days: DayArray) -> DayArray:
    """Return the two days of the record nearest to each day, twice the same mostly; else NO_DAY."""
    known = np.unique(record.day)
    after = np.searchsorted(known, days)
    before = np.maximum(after - 1, 0)
    after = np.minimum(after, known.size - 1)
    exact = known[after] == days
    between = (known[before] < days) & (days < known[after])
    between &= known[after] - known[before] <= LONGEST_GAP_DAYS
    left, right = days - known[before], known[after] - days
    first = np.where(exact | (right < left), known[after], known[before])
    second = np.where(exact | (right <= left), known[after], known[before])
    return np.where(exact | between, np.stack([first, second]), NO_DAY)


def _cut(record: StoreClimate, nearest: DayArray) -> StoreClimate:
    """Return the record's rows that stand for some days, weighed by how many."""
    known, row_day, rows_on_day = np.unique(record.day, return_inverse=True, return_counts=True)
    stands_for = np.bincount(np.searchsorted(known, nearest.ravel()), minlength=known.size) / 2.0
    weight = (stands_for / rows_on_day)[row_day]
    rows = np.flatnonzero(weight)
    return replace(
        record,
        weight_days=weight[rows],
        temperature_c=record.temperature_c[rows],
        humidity=record.humidity[rows],
        day=record.day[rows],
    )


def _record_problems(
    days: FloatArray, temperatures: FloatArray, humidities: FloatArray, first_row: int
) -> list[str]:
    if not days.size == temperatures.size == humidities.size:
        return [
            f"the columns have {days.size} days, {temperatures.size} temperatures and "
            f"{humidities.size} humidities; give one of each in every row"
        ]
    if days.size == 0:
        return ["the record has no rows; give at least one day, temperature and humidity"]
    step = np.diff(days, prepend=days[0])
    low_c, high_c = TEMPERATURE_RANGE_C
    low_rh, high_rh = HUMIDITY_RANGE
    checks: list[tuple[BoolArray, FloatArray, str]] = [
        (~np.isfinite(days), days, "day: {} is no day; write the date"),
        (~np.isfinite(temperatures), temperatures, "°C: {} is no number; leave the row out"),
        (~np.isfinite(humidities), humidities, "%RH: {} is no number; leave the row out"),
        ((temperatures < low_c) | (temperatures > high_c), temperatures,
         f"°C: {{}} is outside {low_c:g} to {high_c:g}; check the unit"),
        ((humidities < low_rh) | (humidities > high_rh), humidities,
         f"%RH: {{}} is outside {low_rh:g} to {high_rh:g}; check the unit"),
        (step < 0, step, "day: goes back by {} days; put the rows in order"),
        (step > LONGEST_GAP_DAYS, step,
         f"day: a gap of {{}} days is longer than {LONGEST_GAP_DAYS}; bring two records"),
    ]  # fmt: skip
    found = [
        (row, text.format(f"{abs(value[row]) if value is step else value[row]:g}"))
        for bad, value, text in checks
        for row in np.flatnonzero(bad)
    ]
    return [f"row {first_row + row}, {text}" for row, text in sorted(found)]


def _row_weights(days: DayArray) -> FloatArray:
    """Share the days of the record among its rows, each day going to the nearest row."""
    distinct, row_day, rows_on_day = np.unique(days, return_inverse=True, return_counts=True)
    between = np.diff(distinct) / 2.0
    day_weight = np.concatenate([[0.5], between]) + np.concatenate([between, [0.5]])
    return np.asarray((day_weight / rows_on_day)[row_day], dtype=np.float64)
