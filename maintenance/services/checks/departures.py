"""What is wrong with the departure of a car."""

import datetime
from collections.abc import Iterator

from maintenance.catalogue.words import unknown
from maintenance.services.checks.cars import Car, day_problems, one_day
from maintenance.services.checks.figures import text_problems
from maintenance.services.drafts import DepartureDraft
from maintenance.services.refusals import Problem

HOW = ("sold", "exported", "broken_up")


def departure_problems(draft: DepartureDraft, car: Car, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with a departure by itself."""
    yield from day_problems("/on", one_day(draft.on), car, today)
    if not draft.how:
        yield Problem("/how", f"is missing; give one of {', '.join(HOW)}")
    elif draft.how not in HOW:
        yield Problem("/how", unknown("way of leaving", draft.how, HOW))
    yield from text_problems("/note", draft.note)
