"""All criteria of one due item, each with its derivation."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from maintenance.engine.columns import CRITERIA, STATUSES
from maintenance.engine.due import Answer
from maintenance.engine.working.by_distance import distance_lines
from maintenance.engine.working.by_time import time_lines
from maintenance.engine.working.by_wear import wear_lines
from maintenance.engine.working.journey import Leg, legs
from maintenance.engine.working.lines import Derivation, Sheet, day_or_none
from maintenance.engine.working.other import (
    expiry_lines,
    finding_lines,
    first_use_lines,
    inspection_lines,
    no_record_lines,
)
from maintenance.engine.working.sentence import sentence

_LINES: dict[str, Callable[[Answer, int], Sheet]] = {
    "time": time_lines,
    "distance": distance_lines,
    "wear": wear_lines,
    "first_use": first_use_lines,
    "inspection": inspection_lines,
    "finding": finding_lines,
    "expiry": expiry_lines,
    "no_record": no_record_lines,
}


@dataclass(frozen=True)
class Working:
    """A due item explained: every criterion, the one that governs, and one plain sentence.

    `journey` is where its part has been, empty if always in its place.
    """

    sentence: str
    governed_by: str
    status: str
    due_on: datetime.date | None
    criteria: tuple[Derivation, ...]
    journey: tuple[Leg, ...]


def explain(answer: Answer, item: int, *, subject: str) -> Working:
    """Return the working of a due item.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    item : int
        Row of the due item in the answer.
    subject : str
        The component or paper in words, for the sentence.

    Returns
    -------
    Working
        Every criterion with the facts, arithmetic and sources behind its day.

    References
    ----------
    .. [1] Each line names its own.
    """
    if answer.standings.no_record[item]:
        sheet = no_record_lines(answer, int(answer.row[item]))
        criteria: tuple[Derivation, ...] = (
            Derivation("no_record", None, None, None, tuple(sheet.lines)),
        )
    else:
        criteria = tuple(_derivations(answer, item))
    return Working(
        sentence=sentence(answer, item, subject=subject),
        governed_by=CRITERIA[int(answer.governed_by[item])],
        status=STATUSES[int(answer.status[item])],
        due_on=day_or_none(answer.due[item]),
        criteria=criteria,
        journey=legs(answer, item),
    )


def _derivations(answer: Answer, item: int) -> list[Derivation]:
    found = []
    for number in answer.has_criterion[item].nonzero()[0]:
        name = CRITERIA[int(number)]
        sheet = _LINES[name](answer, int(answer.row[item]))
        days = [_day(columns[item, number]) for columns in (answer.days, answer.early, answer.late)]
        found.append(Derivation(name, days[0], days[1], days[2], tuple(sheet.lines)))
    return found


def _day(day: int) -> datetime.date | None:
    return day_or_none(day)
