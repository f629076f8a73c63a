"""When a part was made, as its label or a tyre's date code says."""

from collections.abc import Iterator

from maintenance.engine.stated_days import StatedDay, read_manufacture
from maintenance.engine.tyre_codes import read_date_code
from maintenance.services.drafts import EntryDraft
from maintenance.services.refusals import Problem

#: The component kind that carries a date code.
TYRE = "tyre"
_DIGITS_WITHOUT_DECADE = 3
#: No part of a motor car is older.
_EARLIEST_YEAR = 1885


def made_on(draft: EntryDraft) -> StatedDay | None:
    """Return when the part of an entry was made, if it says so.

    A date code of three digits takes its decade from `manufactured`. Raises ValueError where
    either cannot be read or the two disagree.
    """
    stated = read_manufacture(draft.manufactured) if draft.manufactured else None
    if not draft.date_code:
        return stated
    decade = None
    if stated is not None and len(draft.date_code) == _DIGITS_WITHOUT_DECADE:
        decade = stated.earliest.year // 10 * 10
    week = read_date_code(draft.date_code, decade=decade)
    if stated is not None and (week.latest < stated.earliest or stated.latest < week.earliest):
        raise ValueError(
            f"{draft.date_code!r} is the week from {week.earliest}, which is not in "
            f"{draft.manufactured!r}; leave out the one that is wrong"
        )
    return week


def manufacture_problems(draft: EntryDraft, days: StatedDay | None) -> Iterator[Problem]:
    """Tell what is wrong with when a part was made, the days of its event given if known."""
    pointer = "/date_code" if draft.date_code else "/manufactured"
    if draft.date_code and draft.place.kind != TYRE:
        yield Problem(
            "/date_code",
            f"is for tyres only; say when the {draft.place.kind} was made with manufactured",
        )
        return
    try:
        if draft.manufactured:
            read_manufacture(draft.manufactured)
    except ValueError as refusal:
        yield Problem("/manufactured", str(refusal))
        return
    try:
        made = made_on(draft)
    except ValueError as refusal:
        yield Problem(pointer, str(refusal))
        return
    if made is None:
        return
    if made.latest.year < _EARLIEST_YEAR:
        yield Problem(pointer, f"{made.latest} is before the first motor car; check the year")
    elif days is not None and made.earliest > days.latest:
        yield Problem(
            pointer,
            f"{made.earliest} is after the day of the event, {days.latest}; a part is made "
            "before it is fitted",
        )
