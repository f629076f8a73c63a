"""The lines that say where a clock starts."""

from maintenance.engine.columns import ACTIONS
from maintenance.engine.days import from_day
from maintenance.engine.due import Answer
from maintenance.engine.working.lines import Sheet, day_or_none

DONE = {
    "renew": "renewed",
    "overhaul": "overhauled",
    "inspect": "inspected",
    "measure": "measured",
    "adjust": "adjusted",
    "lubricate": "lubricated",
    "clean": "cleaned",
}
"""What a resetting action is called once it is done."""


def start_lines(answer: Answer, row: int) -> Sheet:
    """Return a sheet that begins with the entry from which an item's clock counts.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        With `started_on` and `clock_from`.

    References
    ----------
    .. [1] Common practice: a day known only as a month or year counts from its earliest day.
    """
    time, entries = answer.by_rule.time, answer.shared.batch.entries
    sheet = Sheet()
    entry, started = int(time.entry[row]), from_day(int(time.clock.start[row]))
    if entry < 0 or started != day_or_none(entries.day[entry]):
        sheet.fact("started_on", "the car was laid up, and the care of it began", started)
        sheet.result("clock_from", "the clock counts from", "started_on", started)
        return sheet
    done = DONE[ACTIONS[int(entries.action[entry])]]
    own = answer.shared.is_own(entry, int(answer.shared.batch.items.component[row]))
    with_assembly = "" if own else " with the assembly it belongs to"
    sheet.fact("started_on", f"{done}{with_assembly}", started)
    if entries.last_day[entry] != entries.day[entry]:
        last = from_day(int(entries.last_day[entry]))
        sheet.remark(
            f"The day is known only as some day from {started} to {last}; the earliest counts."
        )
    _clock_from(sheet, answer, row)
    return sheet


def _clock_from(sheet: Sheet, answer: Answer, row: int) -> None:
    clock = answer.by_rule.time.clock
    runs_from = from_day(int(clock.runs_from[row]))
    if clock.runs_from[row] == clock.start[row]:
        sheet.result("clock_from", "the clock counts from", "started_on", runs_from)
        return
    sheet.fact("manufactured_on", "earliest day on which the new part can be made", runs_from)
    sheet.result(
        "clock_from",
        "the clock counts from the manufacture, days on the shelf as one each",
        "manufactured_on",
        runs_from,
    )
    if answer.by_rule.time.day[row] < clock.start[row]:
        sheet.remark("The part was past its limit before it was fitted.")
