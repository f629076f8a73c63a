"""Timelines of parts that were elsewhere than on the car they are on: lay-ups and distance.

A part that was on a shelf or on another car gets a row of its own after those of the cars: the
lay-ups of each place while it was there, the shelf as one of its own grade.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Final, NamedTuple

import numpy as np

from maintenance.engine.columns import Batch, Ints, LayUps, Vehicles
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.forecast import Forecast
from maintenance.engine.journeys import Journeys, Stop
from maintenance.engine.lay_ups import Standing
from maintenance.engine.odometer import Distance, Rate, travelled_by

ON_A_SHELF: Final = -1


class Stay(NamedTuple):
    """Days `[start, end)` that a part spent in a place."""

    place: int
    start: int
    end: int


@dataclass(frozen=True)
class Lives:
    """Rows of cars, followed by rows of parts whose time was spent in more than one place.

    For each row `car` is the car it is on, ON_A_SHELF for none, and `since` the day it came there
    (NO_DAY for a car). `former_car`, `start` and `end` say, for each part, on which cars it was
    before and when; shape (parts, former stays), padded by ON_A_SHELF.
    """

    car: Ints
    since: Ints
    former_car: Ints
    start: Ints
    end: Ints

    @property
    def parts(self) -> int:
        """Return how many rows are of parts."""
        return int(self.former_car.shape[0])

    @property
    def cars(self) -> int:
        """Return how many rows are of cars."""
        return int(self.car.size) - self.parts


def stays(stops: Sequence[Stop], seen: int, storage: Ints) -> list[Stay]:
    """Return where a part spent its days.

    Parameters
    ----------
    stops : sequence of Stop
        Places and the days it came there.
    seen : int
        First day on record of the part [days since 1970-01-01], NO_DAY where there is none.
    storage : array of int
        Storage grade of each place, -1 on a car.

    Returns
    -------
    list of Stay
        In order of days, the last without an end. A part that began on a shelf has lain there
        since it is first heard of; without record it has no days there.

    References
    ----------
    .. [1] Common practice: half-open intervals.
    """
    ends = [*(stop.day for stop in stops[1:]), int(NEVER)]
    found = []
    for stop, end in zip(stops, ends, strict=True):
        start = stop.day
        if start == NO_DAY and storage[stop.place] >= 0:
            start = int(NEVER) if seen == NO_DAY else seen
        if start < end:
            found.append(Stay(stop.place, start, end))
    return found


def with_lives(batch: Batch, found: Journeys) -> tuple[Batch, Lives]:
    """Give each part that was elsewhere a timeline of its own.

    Parameters
    ----------
    batch : Batch
        Cars with their records.
    found : Journeys
        Where their parts are and were.

    Returns
    -------
    tuple of Batch and Lives
        The batch with rows for parts after those of the cars, to which their components and
        measurements belong; and what these rows are.

    References
    ----------
    .. [1] Common practice: a part ages where it is, and covers the distance of the car it is on.
    """
    cars, components = batch.vehicles.odometer_unit.size, batch.components
    of_cars = np.arange(cars)
    nothing = np.zeros((0, 0), dtype=np.int64)
    if not found.stops:
        return batch, Lives(of_cars, np.full(cars, NO_DAY), nothing, nothing, nothing)
    spent = {
        place: stays(stops, found.seen[place], components.storage)
        for place, stops in sorted(found.stops.items())
        if _was_elsewhere(stops, batch)
    }
    timeline = components.vehicle.copy()
    timeline[list(spent)] = cars + np.arange(len(spent))
    lives = _lives(batch, spent, of_cars)
    return replace(
        batch,
        vehicles=_vehicles(batch, list(spent), lives),
        lay_ups=_lay_ups(batch, spent.values()),
        components=replace(components, vehicle=timeline),
        measurements=replace(batch.measurements, component=_measured(batch, found)),
    ), lives


def _was_elsewhere(stops: Sequence[Stop], batch: Batch) -> bool:
    places = [stop.place for stop in stops]
    on_shelf = (batch.components.storage[places] >= 0).any()
    return bool(on_shelf) or len(set(batch.components.vehicle[places].tolist())) > 1


def _car_at(batch: Batch, place: int) -> int:
    shelved = batch.components.storage[place] >= 0
    return ON_A_SHELF if shelved else int(batch.components.vehicle[place])


def _lives(batch: Batch, spent: dict[int, list[Stay]], of_cars: Ints) -> Lives:
    former = [
        [stay for stay in some if stay.end != NEVER and _car_at(batch, stay.place) >= 0]
        for some in spent.values()
    ]
    shape = (len(former), max((len(some) for some in former), default=0))
    car, start, end = (np.full(shape, ON_A_SHELF, dtype=np.int64) for _ in range(3))
    for part, some in enumerate(former):
        for k, stay in enumerate(some):
            car[part, k], start[part, k] = _car_at(batch, stay.place), stay.start
            end[part, k] = stay.end
    now = [_car_at(batch, place) for place in spent]
    came = [some[-1].start if some and some[-1].end == NEVER else NO_DAY for some in spent.values()]
    return Lives(
        np.concatenate([of_cars, np.array(now, dtype=np.int64)]),
        np.concatenate([np.full(of_cars.size, NO_DAY), np.array(came, dtype=np.int64)]),
        car,
        start,
        end,
    )


def _vehicles(batch: Batch, places: list[int], lives: Lives) -> Vehicles:
    """Add a row for each part, in the terms of the car it belongs to, that no law inspects."""
    rows = np.concatenate([np.arange(lives.cars), batch.components.vehicle[places]])
    table = {field.name: getattr(batch.vehicles, field.name)[rows] for field in fields(Vehicles)}
    table["regime"][lives.cars :] = -1
    return Vehicles(**table)


def _lay_ups(batch: Batch, spent: Iterable[list[Stay]]) -> LayUps:
    cars = batch.vehicles.odometer_unit.size
    rows = [
        (cars + part, *row)
        for part, some in enumerate(spent)
        for stay in some
        for row in _standing_in(batch, stay)
    ]
    more = np.array(rows, dtype=np.int64).reshape(len(rows), len(fields(LayUps)))
    return LayUps(
        *(
            np.concatenate([getattr(batch.lay_ups, field.name), more[:, column]])
            for column, field in enumerate(fields(LayUps))
        )
    )


def _standing_in(batch: Batch, stay: Stay) -> Iterator[tuple[int, int, int, int]]:
    """Yield start, end, expected end and store of the lay-ups during a stay."""
    lasts = stay.end == NEVER
    car = _car_at(batch, stay.place)
    if car == ON_A_SHELF:
        grade = int(batch.components.storage[stay.place])
        yield stay.start, int(NO_DAY) if lasts else stay.end, int(NO_DAY), grade
        return
    lay_ups = batch.lay_ups
    for row in np.flatnonzero(lay_ups.vehicle == car).tolist():
        start, end = max(int(lay_ups.start[row]), stay.start), int(lay_ups.end[row])
        grade = int(lay_ups.grade[row])
        if not lasts:
            end = stay.end if end == NO_DAY else min(end, stay.end)
        if end == NO_DAY or start < end:
            yield start, end, int(lay_ups.expected[row]) if lasts else int(NO_DAY), grade


def _measured(batch: Batch, found: Journeys) -> Ints:
    """Return for each measurement the place in which the part measured is now."""
    table = batch.measurements
    component = table.component.copy()
    for row in np.flatnonzero(np.isin(component, list(found.stops))).tolist():
        at = (int(table.component[row]), int(table.order[row]))
        component[row] = found.moved.get(at, table.component[row])
    return component


def forecast_of(rates: Forecast, lives: Lives) -> Forecast:
    """Return the rates of cars and of the parts on them.

    Parameters
    ----------
    rates : Forecast
        Of the cars, and perhaps of parts after them.
    lives : Lives
        Which rows there are.

    Returns
    -------
    Forecast
        A part goes as far as the car it is on now; on a shelf nowhere.

    References
    ----------
    .. [1] Common practice.
    """
    if not lives.parts:
        return rates
    found, shelved = rates.of(np.maximum(lives.car, 0)), lives.car == ON_A_SHELF

    def still(rate: Rate) -> Rate:
        return Rate(np.where(shelved, 0, rate.distance), np.where(shelved, 0, rate.days))

    return replace(
        found, central=still(found.central), early=still(found.early), late=still(found.late)
    )


def distance_of(distance: Distance, lives: Lives) -> Distance:
    """Return the readings of cars, also under the parts that are on them.

    Parameters
    ----------
    distance : Distance
        Of the cars.
    lives : Lives
        Which rows there are.

    Returns
    -------
    Distance
        With the runs of readings of each row: those of the car a part is on, none on a shelf.

    References
    ----------
    .. [1] Common practice.
    """
    car, on_car = np.maximum(lives.car, 0), lives.car != ON_A_SHELF
    return replace(
        distance,
        first=np.where(on_car, distance.first[car], 0),
        count=np.where(on_car, distance.count[car], 0),
        read_first=np.where(on_car, distance.read_first[car], 0),
        read_count=np.where(on_car, distance.read_count[car], 0),
    )


def travelled_in(
    lives: Lives,
    distance: Distance,
    rates: Rate,
    onward: Rate,
    stands: Standing,
    vehicle: Ints,
    day: Ints,
) -> Ints:
    """Return the true distance of cars and parts on days.

    Parameters
    ----------
    lives : Lives
        What the rows are.
    distance : Distance
        Readings of the batch.
    rates : Rate
        Rate of each row.
    onward : Rate
        For each row asked, the rate after the latest reading of the car it is on.
    stands : Standing
        Timelines of the rows.
    vehicle, day : arrays of int
        Row and day [days since 1970-01-01].

    Returns
    -------
    array of int
        Distance [0.1 mm], in the terms of the car a part is on now: before it came there, less
        what it covered since then on other cars. Nothing is covered on a shelf, where only
        differences mean anything.

    References
    ----------
    .. [1] Common practice: a part has gone as far as the cars it was on while it was on them.
    """
    now, since = lives.car[vehicle], lives.since[vehicle]
    car = np.maximum(now, 0)
    there = travelled_by(distance, rates.of(car), onward, stands, car, np.maximum(day, since))
    total: Ints = np.where(now == ON_A_SHELF, 0, there)
    early = np.flatnonzero(day < since)
    part = vehicle[early] - lives.cars
    for k in range(lives.start.shape[1]):
        low, high = np.maximum(lives.start[part, k], day[early]), lives.end[part, k]
        rows = np.flatnonzero((lives.former_car[part, k] != ON_A_SHELF) & (low < high))
        car = lives.former_car[part[rows], k]
        rate = rates.of(car)
        at_end = travelled_by(distance, rate, rate, stands, car, high[rows])
        total[early[rows]] -= at_end - travelled_by(distance, rate, rate, stands, car, low[rows])
    return total
