"""When in the year a car is driven, and when its distances are reached by that."""

import datetime
from typing import NamedTuple

import numpy as np

from maintenance.engine.columns import Batch, Floats
from maintenance.engine.context import context
from maintenance.engine.days import to_day
from maintenance.engine.lay_ups import standing
from maintenance.engine.odometer import true_distance
from maintenance.engine.seasonal import Segments, profile, segments
from maintenance.models import Vehicle
from maintenance.planning.season import by_season, ways_ahead
from maintenance.queries.due_answers import Answers
from maintenance.queries.histories import histories

MOST_CARS = 40
"""So many cars of a collection are enough to learn its habit from."""


class SeasonBands(NamedTuple):
    """Early edge, middle and late edge by row of the item; `says` where the months come from."""

    says: str
    bands: dict[int, tuple[int, int, int]]


def season_bands(
    *, vehicle: Vehicle, today: Answers, batch: Batch, until: datetime.date
) -> SeasonBands:
    """Return when the distances of one car's rules are reached by its months, with the 80 % band.

    `batch` is the car of today's answers with the lay-ups to come.

    The monthly profile is the car's own where its readings span two years, else that of its
    collection, else even. The bands are empty where its readings are too few to draw from. Costs
    the queries of `histories` where the collection is asked.
    """
    shared = context(batch, to_day(today.on))
    every = segments(shared.distance, shared.stands)
    own = every.of(np.flatnonzero(every.vehicle == 0))
    says, weights = _profile(vehicle, own, today.on)
    ways = ways_ahead(shared, own, weights, to_day(until))
    if ways is None:
        return SeasonBands("Months: too few odometer readings to tell them apart.", {})
    return SeasonBands(says, by_season(today.answer, shared, ways))


def _profile(vehicle: Vehicle, own: Segments, on: datetime.date) -> tuple[str, Floats]:
    weights = profile(own)
    if weights is not None:
        return "Months: by two years and more of the car's own readings.", weights
    weights = _of_collection(vehicle, on)
    if weights is not None:
        return "Months: by the readings of the collection, for want of two years of its own.", (
            weights
        )
    return "Months: alike, for want of two years of readings.", np.ones(12)


def _of_collection(vehicle: Vehicle, on: datetime.date) -> Floats | None:
    cars = Vehicle.objects.filter(collection=vehicle.collection_id).order_by("id")[:MOST_CARS]
    batch, day = histories(cars).batch, to_day(on)
    stands = standing(batch.lay_ups, batch.vehicles.odometer_unit.size, day)
    return profile(segments(true_distance(batch.readings, batch.vehicles, day), stands))
