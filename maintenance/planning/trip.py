"""What falls due on a trip: due days and distances set against departure and return.

A trip is given by its days and its length, so the forecast of the car's ordinary use serves up to
the departure only; from there on the trip's own distance counts, driven evenly over its days.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.engine.by_distance import standing_distance
from maintenance.engine.columns import CRITERIA, Ints
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.due import FINDING, RULE, Answer
from maintenance.engine.lay_ups import laid_up_days
from maintenance.engine.odometer import share
from maintenance.engine.units import TENTH_MM_PER_KM

#: When an item is to be seen to, and why; the first that fits.
NO_RECORD: Final = "no_record"
FOUND: Final = "finding"
OVERDUE: Final = "overdue"
BEFORE_USE: Final = "before_use"
BEFORE_DEPARTURE: Final = "due_before_departure"
UNMEASURED: Final = "unmeasured"
ON_THE_WAY: Final = "due_on_the_way"
AFTER_RETURN: Final = "due_soon_after_return"

_WARN_DAYS: Final = 30
_FAR: Final = 1 << 60


@dataclass(frozen=True)
class Trip:
    """Days and length of a trip.

    Parameters
    ----------
    departure, back : int
        First and last day of the trip [days since 1970-01-01].
    distance : int
        Distance to be driven [0.1 mm].

    References
    ----------
    .. [1] Common practice.
    """

    departure: int
    back: int
    distance: int


@dataclass(frozen=True)
class Meeting:
    """How one due item meets a trip.

    Parameters
    ----------
    row : int
        Row of the item in the answer.
    reason : str
        One of the reasons above [no unit].
    day : int
        Day on which it falls due [days since 1970-01-01], NEVER where there is none.
    driven : int
        Distance of the trip after which it falls due [0.1 mm], -1 where distance does not decide.

    References
    ----------
    .. [1] Common practice.
    """

    row: int
    reason: str
    day: int
    driven: int


def meetings(answer: Answer, trip: Trip) -> list[Meeting]:
    """Return the items of one car that are to be seen to before, on or soon after a trip.

    Parameters
    ----------
    answer : Answer
        What the engine says today of the car, its present lay-up ended on the day of departure.
    trip : Trip
        Departure not before the day asked about.

    Returns
    -------
    list of Meeting
        In the order of the due list. Storage care is left out: it belongs to a car that stands.
        So are parts on a shelf: they don't go on the trip.

    Notes
    -----
    What is not in the list is not yet due by any rule on record; that says nothing of the car's
    condition.

    References
    ----------
    .. [1] Common practice: whichever comes first, by date or by distance.
    """
    left = distance_left(answer, trip.departure)
    found = (_meeting(answer, row, left, trip) for row in range(answer.due.size))
    return [meeting for meeting in found if meeting is not None]


def distance_left(answer: Answer, day: int) -> Ints:
    """Return the distance still to go on a day to each item's limit by distance or wear.

    Parameters
    ----------
    answer : Answer
        What the engine says of one car.
    day : int
        Day up to which its forecast counts [days since 1970-01-01].

    Returns
    -------
    array of int
        For each (component, rule) of the batch, distance [0.1 mm], not above 0 where the limit
        is reached; a distance beyond every trip where none is set.

    References
    ----------
    .. [1] Common practice.
    """
    shared, rules = answer.shared, answer.shared.batch.rules
    clock, rule = answer.by_rule.time.clock, answer.shared.batch.items.rule
    left = np.full(rule.size, _FAR)
    asked = np.flatnonzero(answer.by_rule.distance.asked)
    days = np.full(asked.size, day)
    vehicle = clock.vehicle[asked]
    gone = shared.travelled(vehicle, days) - answer.by_rule.distance.at_start[asked]
    laid_up = laid_up_days(shared.stands, vehicle, clock.start[asked], days)
    gone += standing_distance(rules.standing_per_month[rule[asked]], laid_up)
    left[asked] = rules.distance[rule[asked]] - gone
    wear = answer.by_rule.wear
    driven = ~rules.against_aged_days[rule] & np.isfinite(wear.line.due) & (wear.fixed < 0)
    worn = np.flatnonzero(driven & (wear.line.due < _FAR / TENTH_MM_PER_KM))
    limit = np.rint(wear.line.due[worn] * TENTH_MM_PER_KM).astype(np.int64)
    days = np.full(worn.size, day)
    vehicle = clock.vehicle[worn]
    gone = shared.travelled(vehicle, days) - shared.travelled(vehicle, wear.renewed[worn])
    left[worn] = np.minimum(left[worn], limit - gone)
    return left


def _meeting(answer: Answer, row: int, left: Ints, trip: Trip) -> Meeting | None:
    standings, by_rule = answer.standings, answer.origin[row] == RULE
    if standings.storage_care[row] or answer.shelved[row]:
        return None
    if standings.no_record[row]:
        return Meeting(row, NO_RECORD, int(NEVER), -1)
    if answer.origin[row] == FINDING:
        return Meeting(row, FOUND, int(answer.due[row]), -1)
    to_go = int(left[answer.row[row]]) if by_rule else _FAR
    day = _dated(answer, row)
    reason = _before(answer, row, day, to_go, trip)
    if reason:
        return Meeting(row, reason, _earliest_known(answer, row, day), -1)
    driven_on = reached_on(to_go, trip)
    if min(day, driven_on) <= trip.back:
        by_distance = driven_on <= day
        return Meeting(row, ON_THE_WAY, min(day, driven_on), to_go if by_distance else -1)
    if standings.unmeasured[row]:
        return Meeting(row, UNMEASURED, int(NEVER), -1)
    if _warned(answer, row, day, to_go, trip):
        return Meeting(row, AFTER_RETURN, day, -1)
    return None


def _dated(answer: Answer, row: int) -> int:
    """Return the earliest due day of the criteria that run by the calendar."""
    days = answer.days[row].copy()
    days[CRITERIA.index("distance")] = NEVER
    if answer.origin[row] == RULE:
        place = answer.row[row]
        by_distance = ~answer.shared.batch.rules.against_aged_days
        if by_distance[answer.shared.batch.items.rule[place]] and (
            answer.by_rule.wear.fixed[place] < 0
        ):
            days[CRITERIA.index("wear")] = NEVER
    return int(days.min())


def _before(answer: Answer, row: int, day: int, to_go: int, trip: Trip) -> str:
    """Say why an item is due by the departure; only on a car that stands till then it can wait."""
    stands = _stands_till(answer, row, trip.departure)
    overdue = bool(answer.standings.overdue_from[row] <= answer.shared.on)
    first_use = answer.days[row, CRITERIA.index("first_use")] <= trip.departure
    due = day < trip.departure or (stands and day == trip.departure)
    if not (overdue or first_use or due or to_go <= 0):
        return ""
    if stands:
        return BEFORE_USE
    return OVERDUE if overdue else BEFORE_DEPARTURE


def _stands_till(answer: Answer, row: int, departure: int) -> bool:
    """Tell whether what an item is of stands on the eve of the departure."""
    stands, place = answer.shared.stands, answer.row[row]
    own = answer.origin[row] == RULE
    line = answer.by_rule.time.clock.vehicle[place] if own else answer.vehicle[row]
    eve = departure - 1
    return bool(((stands.start[line] <= eve) & (eve < stands.end[line])).any())


def _earliest_known(answer: Answer, row: int, day: int) -> int:
    return min(day, int(answer.due[row]))


def reached_on(to_go: int, trip: Trip) -> int:
    """Return the day of a trip on which a distance is reached.

    Parameters
    ----------
    to_go : int
        Distance still to go at departure [0.1 mm].
    trip : Trip
        Driven evenly over its days, the first and the last included.

    Returns
    -------
    int
        Days since 1970-01-01 [days]; the departure where nothing is left, NEVER where the trip
        is too short.

    References
    ----------
    .. [1] Common practice: an even daily distance.
    """
    if to_go <= 0:
        return trip.departure
    if to_go > trip.distance:
        return int(NEVER)
    days = trip.back - trip.departure + 1
    return trip.departure - (-to_go * days // trip.distance) - 1


def _warned(answer: Answer, row: int, day: int, to_go: int, trip: Trip) -> bool:
    """Tell whether an item falls due within its warning once the car is back."""
    if answer.origin[row] != RULE:
        return day <= trip.back + _WARN_DAYS
    batch, place = answer.shared.batch, int(answer.row[row])
    rule = int(batch.items.rule[place])
    warn_days, warn_distance = batch.rules.warn_days[rule], batch.rules.warn_distance[rule]
    left = to_go - trip.distance
    if day <= trip.back + warn_days or left <= warn_distance:
        return True
    rate = answer.shared.forecast.central.of(answer.vehicle[[row]])
    if not rate.days[0]:
        return False
    return bool(left <= share(np.array([int(warn_days)]), rate.distance, rate.days)[0])


def certificate_days(answer: Answer, trip: Trip) -> tuple[int, int]:
    """Return how many days of a trip the inspection certificate covers, and how many not.

    Parameters
    ----------
    answer : Answer
        What the engine says of one car.
    trip : Trip
        Its days.

    Returns
    -------
    tuple of int
        Days covered, from the departure on, and days after them [days]; all are covered where
        the car needs no inspection.

    References
    ----------
    .. [1] The regime's own sources.
    """
    days = trip.back - trip.departure + 1
    last = int(answer.certificate.computed[0])
    if not answer.certificate.asked[0] or last in (NEVER, NO_DAY):
        return days, 0
    covered = min(max(last - trip.departure + 1, 0), days)
    return covered, days - covered
