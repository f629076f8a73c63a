"""True distance: odometers that pass their last digit, instruments changed, days between readings.

Distances are whole tenths of a millimetre, so that no rounding depends on what else is computed.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.engine.columns import (
    NEW_INSTRUMENT,
    OLD_INSTRUMENT,
    PLAIN_READING,
    Bools,
    Ints,
    Readings,
    Vehicles,
)
from maintenance.engine.lay_ups import Standing, days_in_use
from maintenance.engine.ranges import runs

_SPAN: Final = 1 << 24
_SHIFT: Final = 1 << 23


@dataclass(frozen=True)
class Distance:
    """True distance of each car at the days of its readings, one a day, in order.

    `key` is the car and day in one ascending number; `first` and `count` give each car's rows.
    `read_shown` is what the instrument showed at each reading, in tenths of the odometer unit, and
    `read_travelled` the distance by then; a day on which it was changed has several. `read_first`
    and `read_count` give each car's rows of these, `read_vehicle` the car of each.
    """

    vehicle: Ints
    day: Ints
    travelled: Ints
    key: Ints
    first: Ints
    count: Ints
    read_vehicle: Ints
    read_travelled: Ints
    read_shown: Ints
    read_first: Ints
    read_count: Ints


@dataclass(frozen=True)
class Rate:
    """Distance per day in use of each row as a fraction: `distance / days`; days 0 for unknown."""

    distance: Ints
    days: Ints

    def of(self, rows: Ints) -> "Rate":
        """Return the rates of some rows."""
        return Rate(self.distance[rows], self.days[rows])

    def over(self, days: Ints) -> Ints:
        """Return the whole tenths of a millimetre covered in some days in use; 0 if unknown."""
        return share(days, self.distance, np.maximum(self.days, 1))


def share(days: Ints, distance: Ints, out_of: Ints) -> Ints:
    """Return `days × distance ÷ out_of`, rounded down, without overflowing 64 bits.

    Parameters
    ----------
    days : array of int
        Days counted, below 2**17 [days].
    distance : array of int
        Distance [0.1 mm]; `distance ÷ out_of` below 2**46, which is 7 million km a day.
    out_of : array of int
        Days over which the distance is spread [days], 1 up to 2**46.

    Returns
    -------
    array of int
        Distance [0.1 mm].

    References
    ----------
    .. [1] Common practice: division with remainder.
    """
    whole, rest = np.divmod(distance, out_of)
    return days * whole + days * rest // out_of


def true_distance(readings: Readings, vehicles: Vehicles, on: int) -> Distance:
    """Unroll the readings made by a day into distance travelled.

    Parameters
    ----------
    readings : Readings
        In any order; those after `on` are left out.
    vehicles : Vehicles
        With unit and digits of each odometer.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    Distance
        Monotone for each car. A reading below its predecessor has passed the last digit; a new
        instrument goes on from where the old one stopped. Of one day the largest counts.

    Notes
    -----
    Whether a fall in the reading can be a roll-over at all is checked when it is recorded.

    References
    ----------
    .. [1] Common practice: mechanical odometers of five digits begin again at zero.
    """
    rows = _in_order(readings, vehicles, on)
    vehicle, day, tenths = readings.vehicle[rows], readings.day[rows], readings.tenths[rows]
    new = np.ones(rows.size, dtype=bool)
    new[1:] = vehicle[1:] != vehicle[:-1]
    step = tenths.copy()
    step[1:] = np.where(new[1:], tenths[1:], tenths[1:] - tenths[:-1])
    turn = 10 ** (vehicles.odometer_digits[vehicle] + 1)
    step = np.where(~new & (step < 0), step + turn, step)
    step[~new & (readings.kind[rows] == NEW_INSTRUMENT)] = 0
    total = np.cumsum(step)
    base = (total - step)[new]
    total -= base[np.cumsum(new) - 1]
    last_of_day = np.ones(rows.size, dtype=bool)
    last_of_day[:-1] = new[1:] | (day[1:] != day[:-1])
    travelled = total * vehicles.odometer_unit[vehicle] // 10
    kept = np.flatnonzero(last_of_day)
    cars = np.arange(vehicles.odometer_unit.size)
    first, count = runs(vehicle[kept], cars)
    return Distance(
        vehicle[kept],
        day[kept],
        travelled[kept],
        _key(vehicle[kept], day[kept]),
        first,
        count,
        vehicle,
        travelled,
        tenths,
        *runs(vehicle, cars),
    )


def _key(vehicle: Ints, day: Ints) -> Ints:
    return vehicle * _SPAN + day + _SHIFT


def _in_order(readings: Readings, vehicles: Vehicles, on: int) -> Ints:
    """Order readings by car, day, instrument and value.

    On the day an instrument was changed a plain reading is put with the instrument whose own
    reading is nearer: it may have been taken before the change or after it. On the day on which
    the last digit is passed the small readings come after the great.
    """
    rows = np.flatnonzero(readings.day <= on)
    key = _key(readings.vehicle[rows], readings.day[rows])
    kind = readings.kind[rows]
    tenths = readings.tenths[rows]
    turn = 10 ** (vehicles.odometer_digits[readings.vehicle[rows]] + 1)
    rank = np.where(kind == NEW_INSTRUMENT, 2, np.where(kind == OLD_INSTRUMENT, 1, 0))
    old = np.flatnonzero(kind == OLD_INSTRUMENT)
    if old.size:
        new = np.flatnonzero(kind == NEW_INSTRUMENT)
        old, new = old[np.argsort(key[old])], new[np.argsort(key[new])]
        place = np.minimum(np.searchsorted(key[old], key), old.size - 1)
        same_day = (key[old][place] == key) & (kind == PLAIN_READING)
        to_old = np.abs(tenths - tenths[old][place])
        to_new = np.abs(tenths - tenths[new][place])
        rank = np.where(same_day & (to_old > to_new), 3, rank)
    return rows[np.lexsort((_once_round(tenths, rank, key, turn), rank, key))]


def _once_round(tenths: Ints, rank: Ints, key: Ints, turn: Ints) -> Ints:
    """Add a turn to readings more than half a turn below the highest of their day."""
    _, group = np.unique(key * 4 + rank, return_inverse=True)
    highest = np.zeros(tenths.size, dtype=np.int64)
    np.maximum.at(highest, group, tenths)
    passed = (rank == 0) & (2 * (highest[group] - tenths) > turn)
    return np.where(passed, tenths + turn, tenths)


def travelled_by(
    distance: Distance, rate: Rate, onward: Rate, stands: Standing, vehicle: Ints, day: Ints
) -> Ints:
    """Return the true distance of a car on a day.

    Parameters
    ----------
    distance : Distance
        Readings of the batch.
    rate, onward : Rate
        For each row, the rate that carries the distance back before the first reading, and the
        rate at which it grows after the latest.
    stands : Standing
        Timelines of the cars.
    vehicle, day : arrays of int
        Car and day [days since 1970-01-01] of each row.

    Returns
    -------
    array of int
        Distance [0.1 mm]: between readings it grows evenly over days in use; before the first it
        is carried back, not below zero. A car without a reading counts from nought long ago, so
        that only differences between two of its days mean anything.

    References
    ----------
    .. [1] Common practice: linear interpolation; a standing car covers no distance.
    """
    if not distance.day.size:
        return onward.over(days_in_use(stands, vehicle, np.full(day.size, -_SHIFT >> 7), day))
    first, count = distance.first[vehicle], distance.count[vehicle]
    place = np.searchsorted(distance.key, _key(vehicle, np.clip(day, -_SHIFT, _SHIFT - 1)), "right")
    last = first + count - 1
    before = np.clip(place - 1, 0, distance.day.size - 1)
    after = np.clip(place, 0, distance.day.size - 1)
    x_before, x_after = distance.travelled[before], distance.travelled[after]
    in_use_so_far = days_in_use(stands, vehicle, distance.day[before], day)
    in_use_between = days_in_use(stands, vehicle, distance.day[before], distance.day[after])
    between = x_before + share(in_use_so_far, x_after - x_before, np.maximum(in_use_between, 1))
    between = np.where(in_use_between > 0, between, x_before)
    beyond = x_before + onward.over(in_use_so_far)
    opening = np.clip(first, 0, distance.day.size - 1)
    back = distance.travelled[opening] - rate.over(
        days_in_use(stands, vehicle, day, distance.day[opening])
    )
    known = np.where(
        place - 1 < first, np.maximum(back, 0), np.where(place > last, beyond, between)
    )
    unread = onward.over(days_in_use(stands, vehicle, np.full(day.size, -_SHIFT >> 7), day))
    return np.where(count > 0, known, unread)


def has_reading(distance: Distance, vehicle: Ints) -> Bools:
    """Return whether each row's car has a reading at all.

    Parameters
    ----------
    distance : Distance
        Readings of the batch.
    vehicle : array of int
        Car of each row.

    Returns
    -------
    array of bool
        One for each row.

    References
    ----------
    .. [1] Common practice.
    """
    return distance.count[vehicle] > 0


def shown_at(distance: Distance, vehicles: Vehicles, vehicle: Ints, travelled: Ints) -> Ints:
    """Return what the instrument of the time shows at a true distance, in tenths of its unit.

    Parameters
    ----------
    distance : Distance
        Readings of the batch, at least one in all.
    vehicles : Vehicles
        With unit and digits of each odometer.
    vehicle : array of int
        Car of each row.
    travelled : array of int
        True distance [0.1 mm].

    Returns
    -------
    array of int
        Reading in tenths of the odometer unit, rounded down, past the last digit beginning again;
        -1 for a distance before the first instrument known began to count, and for a car without a
        reading.

    Notes
    -----
    It counts on from the latest reading that the car had made at that distance. Counting back from
    a later one would run past the beginning of a new instrument, which showed no such distance.

    References
    ----------
    .. [1] Common practice.
    """
    place, known = _reading_by(distance, vehicle, travelled)
    more = (travelled - distance.read_travelled[place]) * 10 // vehicles.odometer_unit[vehicle]
    shown = distance.read_shown[place] + more
    turn = 10 ** (vehicles.odometer_digits[vehicle] + 1)
    return np.where(known & (shown >= 0), shown % turn, -1)


def _reading_by(distance: Distance, vehicle: Ints, travelled: Ints) -> tuple[Ints, Bools]:
    """Return the latest reading by a distance, else the car's first, and whether it has any."""
    first, count = distance.read_first[vehicle], distance.read_count[vehicle]
    known, readings = count > 0, distance.read_vehicle.size
    place = np.where(known, first + count - 1, 0)
    # Most distances lie ahead of the latest reading; only those behind it are looked up.
    behind = np.flatnonzero(known & (travelled < distance.read_travelled[place]))
    if not behind.size:
        return place, known
    car = distance.read_vehicle[place[behind]]
    order = np.lexsort(
        (
            np.arange(readings + behind.size),
            np.concatenate([distance.read_travelled, travelled[behind]]),
            np.concatenate([distance.read_vehicle, car]),
        )
    )
    so_far = np.maximum.accumulate(np.where(order < readings, order, -1))
    asked = order >= readings
    place[behind[order[asked] - readings]] = so_far[asked]
    return np.where(known, np.maximum(place, first), 0), known
