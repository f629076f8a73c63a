"""When a distance is reached by the seasons: the resampled ways ahead against each rule's limit."""

import numpy as np

from maintenance.engine.by_distance import standing_distance
from maintenance.engine.columns import Floats, Ints
from maintenance.engine.context import Context
from maintenance.engine.due import Answer
from maintenance.engine.lay_ups import laid_up_days
from maintenance.engine.seasonal import Ahead, Segments, ahead, in_use, reached


def ways_ahead(shared: Context, found: Segments, weights: Floats, until: int) -> Ahead | None:
    """Return the ways in which one car's distance may go on up to a day.

    Parameters
    ----------
    shared : Context
        The car with the lay-ups to come.
    found : Segments
        Its past.
    weights : array of float
        Monthly profile [1].
    until : int
        End of the time ahead [days since 1970-01-01].

    Returns
    -------
    Ahead or None
        None where its past is too short.

    References
    ----------
    .. [1] As `maintenance.engine.seasonal.ahead`.
    """
    day = np.arange(shared.on, until)
    used = in_use(shared.stands, 0, day).astype(np.float64)
    return ahead(found, weights, day, used)


def by_season(answer: Answer, shared: Context, ways: Ahead) -> dict[int, tuple[int, int, int]]:
    """Return the day and band on which each rule's distance is reached.

    Parameters
    ----------
    answer : Answer
        What the engine says of one car today.
    shared : Context
        The same car with the lay-ups to come.
    ways : Ahead
        Ways in which its distance may go on from the day asked about.

    Returns
    -------
    dict of int to tuple of int
        By row of the item in the batch: early edge, middle and late edge
        [days since 1970-01-01]; the items that count a distance from a day on record.

    References
    ----------
    .. [1] Common practice: whichever comes first; standing counts as the rule says.
    """
    found, batch = answer.by_rule.distance, answer.shared.batch
    on_the_car = shared.lives.car[answer.by_rule.time.clock.vehicle] == 0
    return {
        int(row): reached(ways, _needed(answer, shared, int(row), ways.day))
        for row in np.flatnonzero(found.asked & on_the_car)
        if batch.rules.distance[batch.items.rule[row]] >= 0
    }


def _needed(answer: Answer, shared: Context, row: int, day: Ints) -> Floats:
    """Return what is still to be driven for the limit to be reached by the end of each day."""
    found, batch, clock = answer.by_rule.distance, answer.shared.batch, answer.by_rule.time.clock
    rule = np.full(day.size, batch.items.rule[row])
    laid_up = laid_up_days(
        shared.stands,
        np.full(day.size, clock.vehicle[row]),
        np.full(day.size, clock.start[row]),
        day + 1,
    )
    standing = standing_distance(batch.rules.standing_per_month[rule], laid_up)
    gone = found.on_day[row] - found.at_start[row]
    return np.asarray(batch.rules.distance[rule] - gone - standing, dtype=np.float64)
