"""When the clock of each due item started: what tells one cycle of an item from the next."""

import numpy as np

from maintenance.engine.columns import Ints
from maintenance.engine.days import NO_DAY, from_day
from maintenance.engine.due import INSPECTION, RULE, Answer


def cycles(answer: Answer) -> list[str]:
    """Return the cycle of each due item, in the order of the answer.

    The day of the work, the pass or the lay-up from which it counts, in ISO 8601; empty where
    none is on record, and for findings and papers, of which each is an item of its own.
    """
    start = np.full(answer.row.size, NO_DAY)
    by_rule = answer.origin == RULE
    start[by_rule] = answer.by_rule.time.clock.start[answer.row[by_rule]]
    for_inspection = answer.origin == INSPECTION
    start[for_inspection] = _passes(answer)[answer.row[for_inspection]]
    return ["" if day == NO_DAY else from_day(int(day)).isoformat() for day in start]


def _passes(answer: Answer) -> Ints:
    """Return the day on which each car last passed its inspection."""
    passed = answer.certificate.passed
    day = np.full(passed.size, NO_DAY)
    day[passed >= 0] = answer.shared.batch.inspections.day[passed[passed >= 0]]
    return day
