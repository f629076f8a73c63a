"""A due item in one plain sentence, fit for a reminder.

It names days and not the day on which it is said, so it stays as it is until something changes.
"""

from maintenance.engine.columns import ACTIONS, CRITERIA, GRADES, TASKS
from maintenance.engine.days import NEVER, NO_DAY, from_day
from maintenance.engine.due import FINDING, INSPECTION, PAPER, Answer
from maintenance.engine.lay_ups import overlap
from maintenance.engine.units import HUNDREDTHS
from maintenance.engine.working.lines import km, shown
from maintenance.engine.working.starts import DONE

TO_DO = {
    "renew": "renewal",
    "overhaul": "overhaul",
    "inspect": "inspection",
    "adjust": "adjustment",
    "clean": "cleaning",
    "lubricate": "lubrication",
}
"""What a task is called as a thing to be done."""


def sentence(answer: Answer, item: int, *, subject: str) -> str:
    """Return the governing criterion of a due item in one sentence.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    item : int
        Row of the due item in the answer.
    subject : str
        The component or paper in words, such as "front brake pads".

    Returns
    -------
    str
        One sentence that names the start, what standing counted for, the limit and the day.

    References
    ----------
    .. [1] Common practice.
    """
    criterion = CRITERIA[int(answer.governed_by[item])]
    due = answer.due[item]
    day = "" if due == NEVER else from_day(int(due)).isoformat()
    if answer.origin[item] == INSPECTION:
        return _inspection(day)
    if answer.origin[item] == FINDING:
        return f"{subject}: the inspection of {day} failed it, and no repair is on record since."
    if answer.origin[item] == PAPER:
        return f"{subject}: the last day of validity is {day}."
    row = int(answer.row[item])
    rule = int(answer.shared.batch.items.rule[row])
    task = TO_DO[TASKS[int(answer.shared.batch.rules.task[rule])]]
    if criterion == "no_record":
        return f"{subject}: no record starts the clock of its {task}, so it is treated as due now."
    start = f"{subject}: {_since(answer, row)}"
    if criterion == "first_use":
        return _first_use(answer, row, rule, start, task, day)
    if not day:
        return f"{start}; no day can be told on which the {task} falls due."
    if criterion == "wear":
        return f"{start}; by measured wear the {task} falls due on {day}."
    if criterion == "distance":
        return _distance(answer, row, rule, start, task, day)
    return _time(answer, row, rule, start, task, day)


def _inspection(day: str) -> str:
    if day:
        return f"Roadworthiness inspection: due by {day}."
    return "Roadworthiness inspection: to be done when the car returns to the road."


def _since(answer: Answer, row: int) -> str:
    clock, entries = answer.by_rule.time.clock, answer.shared.batch.entries
    entry = int(answer.by_rule.time.entry[row])
    started = from_day(int(clock.start[row]))
    if entry < 0 or entries.day[entry] != clock.start[row]:
        return f"laid up since {started}"
    text = f"{DONE[ACTIONS[int(entries.action[entry])]]} on {started}"
    if clock.runs_from[row] != clock.start[row]:
        # A week or a month of making counts from its first day: the part may be younger.
        text += f", made on {from_day(int(clock.runs_from[row]))} at the earliest and ageing since"
    return text


def _first_use(answer: Answer, row: int, rule: int, start: str, task: str, day: str) -> str:
    counted_from = answer.by_rule.first_use.counted_from[row]
    if counted_from == NO_DAY:
        months = int(answer.shared.batch.rules.first_use_months[rule])
        return f"{start}; the {task} is due before use after {_months(months)} of standing."
    stood = from_day(int(counted_from))
    when = f"on the day of return, {day}" if day else "before the car is used again"
    return f"{start}; standing since {stood}; the {task} is due {when}."


def _distance(answer: Answer, row: int, rule: int, start: str, task: str, day: str) -> str:
    limit = shown(km(answer.shared.batch.rules.distance[rule]))
    return f"{start}; the {task} falls due after {limit} km, which is reached about {day}."


def _time(answer: Answer, row: int, rule: int, start: str, task: str, day: str) -> str:
    months = int(answer.shared.batch.rules.months[rule])
    stood = _standing(answer, row)
    limit = f"the limit of {_months(months)} for its {task} is reached on {day}"
    return f"{start}; {stood}{limit}."


def _months(number: int) -> str:
    return "1 month" if number == 1 else f"{number} months"


def _standing(answer: Answer, row: int) -> str:
    """Say how many days up to the due day count more than one, and how much."""
    time, stands = answer.by_rule.time, answer.shared.stands
    clock, vehicle = time.clock, int(time.clock.vehicle[row])
    stores = answer.shared.batch.stores
    days: dict[tuple[str, bool], int] = {}
    counts: dict[tuple[str, bool], set[int]] = {}
    for k in range(stands.start.shape[1]):
        start, end = stands.start[vehicle, k], stands.end[vehicle, k]
        store = int(stands.grade[vehicle, k])
        factor = int(clock.factors[row, store])
        spent = int(overlap(clock.start[row], time.day[row], start, end))
        if spent and factor > HUNDREDTHS:
            # Months of a measured store differ; they are told together, by their range.
            told = (stores.grade_name(store), store >= len(GRADES))
            days[told] = days.get(told, 0) + spent
            counts.setdefault(told, set()).add(factor)
    whole = int(time.day[row] - clock.runs_from[row])
    parts = [
        f"{days[told]} of the {whole} days are spent in {told[0]} storage and count as "
        f"{_range(counts[told])} each"
        for told in sorted(days, key=lambda told: (GRADES.index(told[0]), told[1]))
    ]
    return "; ".join(parts) + "; " if parts else ""


def _range(factors: set[int]) -> str:
    low, high = (f"{factor / HUNDREDTHS:g}" for factor in (min(factors), max(factors)))
    return low if low == high else f"{low} to {high}"
