"""What is wrong with a lay-up, and which lay-ups of a car overlap."""

import datetime
from collections.abc import Iterator, Sequence

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import unknown
from maintenance.engine.ageing.preparations import PREPARATIONS
from maintenance.services.checks.cars import Car, day_problems, one_day
from maintenance.services.drafts import LayUpDraft
from maintenance.services.refusals import Problem


def lay_up_problems(draft: LayUpDraft, car: Car, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with a lay-up by itself."""
    yield from day_problems("/from", one_day(draft.from_on), car, today)
    if not draft.storage:
        yield Problem("/storage", "is missing; say in which storage grade the car stands")
    elif draft.storage not in catalogue().grades:
        yield Problem(
            "/storage", unknown("storage grade", draft.storage, catalogue().grades.keys())
        )
    for name, day in (("to", draft.to_on), ("expected_to", draft.expected_to)):
        if day is not None and day <= draft.from_on:
            yield Problem(f"/{name}", f"{day} is not after the day it began, {draft.from_on}")
    if draft.to_on is not None and draft.to_on > today:
        yield Problem(
            "/to",
            f"{draft.to_on} is after today, {today}; give an end that is still to come as "
            "expected_to",
        )
    for place, preparation in enumerate(draft.preparations):
        if preparation not in PREPARATIONS:
            text = unknown("preparation", preparation, PREPARATIONS.keys())
            yield Problem(f"/preparations/{place}", text)


def end_problems(
    on: datetime.date, began: datetime.date, today: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with the first day back in use of a lay-up that lasts."""
    if on > today:
        yield Problem(
            "/on",
            f"{on} is after today, {today}; end it on the day the car is back in use, or correct "
            "the lay-up to give that day as expected_to",
        )
    elif on <= began:
        yield Problem(
            "/on",
            f"{on} is not after the day it began, {began}; correct the lay-up if it began before, "
            "withdraw it if the car never stood",
        )


def overlap_problems(lay_ups: Sequence[tuple[str, LayUpDraft]]) -> Iterator[Problem]:
    """Tell which lay-ups of one car share a day; each comes with its pointer, empty if stored.

    One that begins on the day another ends touches it and is no overlap.
    """
    in_order = sorted(lay_ups, key=lambda pair: (pair[1].from_on, pair[0]))
    for place, (pointer, later) in enumerate(in_order[1:], start=1):
        other_pointer, earlier = max(in_order[:place], key=lambda pair: _end(pair[1]))
        if _end(earlier) > later.from_on:
            yield Problem(
                pointer or other_pointer,
                f"the lay-up {period(later)} overlaps the one {period(earlier)}; "
                "correct the days, or end the earlier one first",
            )


def _end(draft: LayUpDraft) -> datetime.date:
    return draft.to_on or datetime.date.max


def period(draft: LayUpDraft) -> str:
    """Return the period of a lay-up in words."""
    return f"from {draft.from_on} " + (f"to {draft.to_on}" if draft.to_on else "that still lasts")
