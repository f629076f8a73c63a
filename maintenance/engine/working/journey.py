"""Where a part was while its clock ran: each place with its days and its distance."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from maintenance.engine.clock import Clock, aged_hundredths
from maintenance.engine.days import NO_DAY
from maintenance.engine.due import RULE, Answer
from maintenance.engine.lives import Stay, stays
from maintenance.engine.working.lines import day_or_none, km


@dataclass(frozen=True)
class Leg:
    """A part's time in one place.

    `place` is the row of the component, `from_on` empty where the part was there all along and
    `until_on` where it still is. Days and distance are those that the item's clock has counted
    there by the day asked about, none where no start of that clock is on record.
    """

    place: int
    from_on: datetime.date | None
    until_on: datetime.date | None
    aged_days: Decimal | None
    distance_km: Decimal | None


def legs(answer: Answer, item: int) -> tuple[Leg, ...]:
    """Return the places in which the part of a due item has been since it was new.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    item : int
        Row of the due item in the answer.

    Returns
    -------
    tuple of Leg
        In order of days; empty for a part that has always been in its place on the car.

    References
    ----------
    .. [1] Common practice: a part's card goes with the part.
    """
    shared, component = answer.shared, int(answer.component[item])
    stops = shared.journeys.stops.get(component, ())
    storage = shared.batch.components.storage
    if answer.origin[item] != RULE or (len(stops) < 2 and storage[component] < 0):
        return ()
    spent = stays(stops, shared.journeys.seen[component], storage)
    return tuple(_leg(answer, int(answer.row[item]), stay) for stay in spent)


def _leg(answer: Answer, row: int, stay: Stay) -> Leg:
    aged = distance = None
    shared, clock = answer.shared, answer.by_rule.time.clock.of(np.array([row]))
    if clock.start[0] != NO_DAY:
        low = np.maximum(clock.start, min(stay.start, shared.on))
        high = np.maximum(low, min(stay.end, shared.on))
        here = Clock(clock.vehicle, low, low, clock.factors)
        aged = Decimal(int(aged_hundredths(here, shared.stands, high)[0])) / 100
        gone = shared.travelled(clock.vehicle, high) - shared.travelled(clock.vehicle, low)
        distance = km(gone[0])
    return Leg(stay.place, day_or_none(stay.start), day_or_none(stay.end), aged, distance)
