"""The wear criterion: what was measured since the renewal, and the day it reaches the limit."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from maintenance.engine.by_distance import day_travelled
from maintenance.engine.clock import Clock, aged_hundredths, day_aged
from maintenance.engine.columns import Bools, Floats, Ints, Rules
from maintenance.engine.context import Context
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.ranges import expand, runs
from maintenance.engine.resets import RENEW, latest
from maintenance.engine.units import HUNDREDTHS, TENTH_MM_PER_KM
from maintenance.engine.wear import Line, Points, fit


@dataclass(frozen=True)
class ByWear:
    """The wear criterion of each item.

    `renewed` is the day of the last renewal, NO_DAY where none is on record. `measured` tells
    whether anything was measured since then, or ever where no renewal is on record. `new` is the
    value when new: of the measurement in row `fitted` that was made at the renewal, else (-1) the
    rule's, NaN where neither is known. `point_row` are the measurements used, in the order of
    `points`; `first_point` and `point_count` give each item's run of them. `fixed` is the row of
    the first measurement at or past the limit, -1 where there is none. `day`, `early` and `late`
    are NEVER where there is no date.
    """

    asked: Bools
    renewed: Ints
    points: Points
    point_row: Ints
    measured: Bools
    new: Floats
    fitted: Ints
    first_point: Ints
    point_count: Ints
    line: Line
    fixed: Ints
    day: Ints
    early: Ints
    late: Ints


def by_wear(shared: Context) -> ByWear:
    """Return when each item's measured wear reaches its limit.

    Parameters
    ----------
    shared : Context
        The batch as known on the day asked about.

    Returns
    -------
    ByWear
        One row an item. Of the day of the renewal, what was entered before it tells what came
        off and is left out; what was entered after it is the value when new.

    References
    ----------
    .. [1] Common practice: friction parts and tyres are renewed by measurement.
    """
    batch, rule = shared.batch, shared.batch.items.rule
    rules = batch.rules
    asked = rules.quantity[rule] >= 0
    renewal = latest(shared.done, shared.done.action == RENEW, batch.items.component)
    renewed = _column(shared.done.day, renewal, NO_DAY)
    vehicle = batch.components.vehicle[batch.items.component]
    clock = Clock(vehicle, renewed, renewed, rules.factors[rule])
    item, row = _measured(shared, asked, renewal)
    fixed = _first_past(shared, item, row, batch.measurements.value[row], rule)
    fitted, later = _at_fitting(shared, item, row, renewed)
    new = _column(batch.measurements.value, fitted, rules.wear_new[rule])
    item, row = item[later], row[later]
    use = _use(shared, clock, rules.against_aged_days[rule], item, row)
    usable = renewed[item] != NO_DAY
    points = Points(item[usable], use[usable], batch.measurements.value[row][usable])
    falls, limit = _limits(rules, rule)
    line = fit(points, new, limit, falls, rules.criticality[rule] == 0)
    by_age = rules.against_aged_days[rule]
    by_line = _days_of_use(shared, clock, by_age, (line.due, line.early, line.late))
    banded = ~np.isnan(line.spread)
    is_fixed = fixed >= 0
    day = _column(batch.measurements.day, fixed, by_line[0])
    first_point, point_count = runs(points.item, np.arange(rule.size))
    measured = (np.bincount(item, minlength=rule.size) > 0) | (fixed >= 0)
    return ByWear(
        asked=asked,
        renewed=renewed,
        points=points,
        point_row=row[usable],
        measured=measured,
        new=new,
        fitted=fitted,
        first_point=first_point,
        point_count=point_count,
        line=line,
        fixed=fixed,
        day=day,
        early=np.where(is_fixed | ~banded, day, by_line[1]),
        late=np.where(is_fixed | ~banded, day, by_line[2]),
    )


Column = TypeVar("Column", Ints, Floats)


def _column(values: Column, row: Ints, otherwise: Column | np.int64) -> Column:
    """Return the values of some rows, and something else where there is none (-1)."""
    found = np.broadcast_to(otherwise, row.shape).astype(values.dtype)
    found[row >= 0] = values[row[row >= 0]]
    return found


def _limits(rules: Rules, rule: Ints) -> tuple[Bools, Floats]:
    """Return whether each item wears down to a minimum, and its limit."""
    falls = ~np.isnan(rules.wear_minimum[rule])
    return falls, np.where(falls, rules.wear_minimum[rule], rules.wear_maximum[rule])


def _at_fitting(shared: Context, item: Ints, row: Ints, renewed: Ints) -> tuple[Ints, Bools]:
    """Return each item's last measurement on the day of its renewal, and which were made later."""
    at_fitting = shared.batch.measurements.day[row] == renewed[item]
    fitted = np.full(renewed.size, -1, dtype=np.int64)
    fitted[item[at_fitting]] = row[at_fitting]
    return fitted, ~at_fitting


def _measured(shared: Context, asked: Bools, renewal: Ints) -> tuple[Ints, Ints]:
    """Return (item, measurement) for what was entered after each item's renewal."""
    batch, measurements = shared.batch, shared.batch.measurements
    order = np.lexsort(
        (measurements.order, measurements.day, measurements.quantity, measurements.component)
    )
    key = measurements.component[order] * _QUANTITIES + measurements.quantity[order]
    items = np.flatnonzero(asked)
    quantity = batch.rules.quantity[batch.items.rule[items]]
    first, count = runs(key, batch.items.component[items] * _QUANTITIES + quantity)
    owner, member = expand(first, count)
    item, row = items[owner], order[member]
    day = measurements.day[row]
    entry = _column(shared.done.entry, renewal, np.int64(-1))
    renewed = _column(batch.entries.day, entry, NO_DAY)[item]
    order = _column(batch.entries.order, entry, np.int64(-1))[item]
    after = (day > renewed) | ((day == renewed) & (measurements.order[row] > order))
    since = (day <= shared.on) & after
    return item[since], row[since]


_QUANTITIES = 1 << 20


def _use(shared: Context, clock: Clock, by_age: Bools, item: Ints, row: Ints) -> Floats:
    """Return the use at each measurement: kilometres travelled or days aged since the renewal."""
    day = shared.batch.measurements.day[row]
    start = np.where(clock.start[item] == NO_DAY, day, clock.start[item])
    since = Clock(clock.vehicle[item], start, start, clock.factors[item])
    return _used(shared, since, by_age[item], day)


def _used(shared: Context, since: Clock, by_age: Bools, day: Ints) -> Floats:
    aged = aged_hundredths(since, shared.stands, day) / HUNDREDTHS
    travelled = shared.travelled(since.vehicle, day) - shared.travelled(since.vehicle, since.start)
    return np.where(by_age, aged, travelled / TENTH_MM_PER_KM)


def use_by(shared: Context, found: ByWear, item: int, day: int) -> float:
    """Return the use of one item from its renewal to a day.

    Parameters
    ----------
    shared : Context
        The batch as known on the day asked about.
    found : ByWear
        The wear criterion of its items.
    item : int
        Row of the item.
    day : int
        Not before the renewal [days since 1970-01-01].

    Returns
    -------
    float
        Kilometres travelled, or days aged [km or aged days].

    References
    ----------
    .. [1] Common practice.
    """
    batch, row = shared.batch, np.array([item])
    rule = batch.items.rule[row]
    vehicle = batch.components.vehicle[batch.items.component[row]]
    clock = Clock(vehicle, found.renewed[row], found.renewed[row], batch.rules.factors[rule])
    by_age = batch.rules.against_aged_days[rule]
    return float(_used(shared, clock, by_age, np.array([day]))[0])


def _first_past(shared: Context, item: Ints, row: Ints, value: Floats, rule: Ints) -> Ints:
    """Return the first measurement of each item that is at or past the limit."""
    minimum = shared.batch.rules.wear_minimum[rule][item]
    maximum = shared.batch.rules.wear_maximum[rule][item]
    past = np.where(np.isnan(minimum), value >= maximum, value <= minimum)
    fixed = np.full(rule.size, -1, dtype=np.int64)
    backwards = np.flatnonzero(past)[::-1]
    fixed[item[backwards]] = row[backwards]
    return fixed


def _days_of_use(
    shared: Context, clock: Clock, by_age: Bools, uses: tuple[Floats, ...]
) -> list[Ints]:
    """Return the days on which the use reaches each of several figures, all in one search."""
    rows = np.tile(np.arange(by_age.size), len(uses))
    days = _day_of_use(shared, clock.of(rows), by_age[rows], np.concatenate(uses))
    return np.split(days, len(uses))


def _day_of_use(shared: Context, clock: Clock, by_age: Bools, use: Floats) -> Ints:
    """Return the smallest day on which each item's use reaches a figure; NEVER where it is NaN."""
    day = np.full(use.size, NEVER)
    known = np.isfinite(use) & (clock.start != NO_DAY)
    aged = np.flatnonzero(known & by_age & (use < _MOST))
    hundredths = np.rint(use[aged] * HUNDREDTHS).astype(np.int64)
    day[aged] = day_aged(clock.of(aged), shared.stands, hundredths, shared.horizon)
    driven = np.flatnonzero(known & ~by_age & (use < _MOST))
    onward = shared.forecast.central.of(clock.vehicle[driven])
    distance = np.rint(use[driven] * TENTH_MM_PER_KM).astype(np.int64)
    day[driven] = day_travelled(
        shared, clock.vehicle[driven], clock.start[driven], distance, onward
    )
    return day


_MOST = 1e8
"""Neither kilometres nor days beyond this are reached within the horizon."""
