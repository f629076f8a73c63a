"""The lines of the time criterion."""

from decimal import Decimal

import numpy as np

from maintenance.engine.clock import aged_hundredths
from maintenance.engine.days import NEVER, from_day
from maintenance.engine.due import Answer
from maintenance.engine.lay_ups import overlap
from maintenance.engine.working.lines import Sheet, day_or_none
from maintenance.engine.working.starts import start_lines


def time_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of the day on which a rule's months run out.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        Facts, lay-ups with what they count for, and the aged days on the due day and the day
        before it.

    References
    ----------
    .. [1] The rule's own source, named on its line.
    """
    time, batch = answer.by_rule.time, answer.shared.batch
    rule = int(batch.items.rule[row])
    sheet = start_lines(answer, row)
    source = str(batch.rules.source[rule])
    sheet.fact("months", "limit of the rule", int(batch.rules.months[rule]), "months", source)
    sheet.result(
        "calendar_day",
        "day the limit runs to when no day counts more than one",
        "add_months(clock_from, months)",
        day_or_none(time.calendar[row]),
    )
    sheet.result(
        "limit", "length of the limit", "calendar_day − clock_from", int(time.limit[row]), "days"
    )
    day = int(time.day[row])
    if day == NEVER:
        _no_day(sheet, answer, row)
        return sheet
    sheet.fact("due_on", "smallest day on which the aged days reach the limit", from_day(day))
    terms = _lay_up_lines(sheet, answer, row, day)
    aged = _aged(answer, row, day)
    sheet.result(
        "aged", "aged days by the due day", " + ".join(["(due_on − clock_from)", *terms]), aged,
        "days",
    )  # fmt: skip
    sheet.result(
        "reached", "aged days less the limit: not below nought on the due day", "aged − limit",
        aged - int(time.limit[row]), "days",
    )  # fmt: skip
    return sheet


def _no_day(sheet: Sheet, answer: Answer, row: int) -> None:
    ends = day_or_none(answer.by_rule.time.ends[row])
    if ends:
        sheet.remark(f"The lay-up is to end on {ends}, before this falls due.")
    else:
        sheet.remark("The limit is more than a hundred years away, which is no date.")


def _lay_up_lines(sheet: Sheet, answer: Answer, row: int, day: int) -> list[str]:
    """Write one line for each lay-up that counts, and return the terms they add."""
    clock, stands = answer.by_rule.time.clock, answer.shared.stands
    batch, vehicle, start = answer.shared.batch, int(clock.vehicle[row]), int(clock.start[row])
    rule = int(batch.items.rule[row])
    terms: list[str] = []
    for k in range(stands.start.shape[1]):
        days = int(overlap(start, day, stands.start[vehicle, k], stands.end[vehicle, k]))
        if not days:
            continue
        number = len(terms) + 1
        store = int(stands.grade[vehicle, k])
        grade = batch.stores.grade_name(store)
        factor = Decimal(int(clock.factors[row, store])) / 100
        began = from_day(int(stands.start[vehicle, k]))
        ends = day_or_none(stands.end[vehicle, k])
        until = f"to {ends}" if ends else "without a known end"
        sheet.fact(f"lay_up_{number}_from", f"laid up, {grade}", began)
        if ends:
            lasts = int(stands.end[vehicle, k]) > int(answer.shared.on)
            says = "expected back in use" if lasts else "back in use"
            sheet.fact(f"lay_up_{number}_to", says, ends)
        bound = f"earliest(due_on, lay_up_{number}_to)" if ends else "due_on"
        sheet.result(
            f"standing_{number}",
            f"days of it that count, {began} {until}",
            f"{bound} − latest(started_on, lay_up_{number}_from)",
            days,
            "days",
        )
        sheet.fact(
            f"factor_{number}",
            f"what a day in {grade} storage counts",
            factor,
            "days a day",
            batch.stores.reason_for(rule, store) or str(batch.rules.source[rule]),
        )
        terms.append(f"standing_{number} × (factor_{number} − 1)")
    return terms


def _aged(answer: Answer, row: int, day: int) -> Decimal:
    rows = np.array([row])
    clock = answer.by_rule.time.clock.of(rows)
    return Decimal(int(aged_hundredths(clock, answer.shared.stands, np.array([day]))[0])) / 100
