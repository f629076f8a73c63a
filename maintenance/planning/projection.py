"""What falls due when under a plan: the engine asked on each day that changes something."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from maintenance.engine.columns import Batch, Ints, Items
from maintenance.engine.context import Context
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.due import FINDING, INSPECTION, PAPER, RULE, Answer, due_items
from maintenance.engine.forecast import Forecast
from maintenance.engine.lay_ups import days_in_use
from maintenance.engine.odometer import Rate
from maintenance.engine.units import MEAN_YEAR_DAYS
from maintenance.planning.what_if import with_pass, with_stages, with_work


@dataclass(frozen=True)
class Work:
    """A piece of work that a plan does on a day.

    Parameters
    ----------
    day : int
        Day of the work [days since 1970-01-01].
    component : int
        Row of the component, -1 for a roadworthiness inspection passed.
    action : str
        One of `ACTIONS` [no unit].

    References
    ----------
    .. [1] Common practice.
    """

    day: int
    component: int
    action: str


@dataclass(frozen=True)
class Occurrence:
    """One time that an item falls due under a plan.

    Parameters
    ----------
    start : int
        Day from which it counts [days since 1970-01-01], NO_DAY where none is on record.
    due : int
        Day on which it falls due [days since 1970-01-01], NEVER where there is none.
    answer : Answer
        The answer that says so.
    row : int
        Its row there.
    done : int
        Day on which the plan does it next [days since 1970-01-01], NEVER where it does not.

    References
    ----------
    .. [1] Common practice.
    """

    start: int
    due: int
    answer: Answer
    row: int
    done: int


Occurrences = dict[tuple[int, int], list[Occurrence]]


def occurrences(
    batch: Batch, works: Sequence[Work], lay_up_starts: Sequence[int], *, on: int, planned: Forecast
) -> Occurrences:
    """Return when each item of one car falls due under a plan.

    Parameters
    ----------
    batch : Batch
        One car with the plan's lay-ups and, if it plans distance, today's reading.
    works : sequence of Work
        Work to be done, in any order, none before `on`.
    lay_up_starts : sequence of int
        First days of the plan's lay-ups [days since 1970-01-01].
    on : int
        Today [days since 1970-01-01].
    planned : Forecast
        Rates of the plan.

    Returns
    -------
    dict of (int, int) to list of Occurrence
        By origin and row of the item in the batch: one occurrence for each start, in order of
        days, with the earliest due day that is known from that start.

    Notes
    -----
    What follows after an item's last occurrence depends on the day on which it is done, so a plan
    that does not say so has no later one. A finding occurs once, and is done on the day of the work
    that mends it or of the pass that clears it. The rules are asked once for all stages of the
    work; what depends on the day asked about (storage care, inspection, findings) on each such day.

    References
    ----------
    .. [1] Common practice: an interval starts anew when the work is done.
    """
    work = sorted((each.component, each.action, each.day) for each in works if each.component >= 0)
    days = sorted({on, *lay_up_starts, *(each.day for each in works)})
    storage_care = batch.rules.laid_up_only[batch.items.rule]
    by_day = np.flatnonzero(storage_care)
    whole_run = np.flatnonzero(~storage_care)
    found: dict[tuple[int, int], dict[int, Occurrence]] = {}
    if whole_run.size:
        asked = _asking(batch, whole_run)
        kept = _kept(asked, work)
        staged = _asking(with_stages(asked, _stages(work)), kept)
        last = due_items(staged, on=days[-1], planned=planned)
        _gather(found, last, whole_run[kept % whole_run.size], origins=(RULE,))
    done = with_work(_asking(batch, by_day), work)
    for each in works:
        done = with_pass(done, each.day) if each.component < 0 else done
    passes = {each.day for each in works if each.component < 0}
    cleared: dict[int, int] = {}
    for day in days if by_day.size or batch.findings.day.size else sorted({on, *passes}):
        answer = due_items(done, on=day, planned=planned)
        _gather(found, answer, by_day, origins=(RULE, INSPECTION, FINDING, PAPER))
        still_open = {int(row) for row in answer.row[answer.origin == FINDING]}
        gone = {row for origin, row in found if origin == FINDING} - still_open
        cleared |= {row: day for row in gone if row not in cleared}
    ends = {(FINDING, row): day for row, day in cleared.items()}
    return {key: _in_order(by_start, ends.get(key, int(NEVER))) for key, by_start in found.items()}


def _asking(batch: Batch, rows: Ints) -> Batch:
    return replace(batch, items=Items(batch.items.component[rows], batch.items.rule[rows]))


def _stages(work: Sequence[tuple[int, str, int]]) -> list[list[tuple[int, str, int]]]:
    """Return the entries that are done by each stage: none, then more with each day of work."""
    days = sorted({day for *_, day in work})
    return [[each for each in work if each[2] <= day] for day in (int(NO_DAY), *days)]


def _kept(asked: Batch, work: Sequence[tuple[int, str, int]]) -> Ints:
    """Return the items of the first stage, and of each later one those that its work touches."""
    size = asked.items.rule.size
    kept = [np.arange(size)]
    for stage, day in enumerate(sorted({day for *_, day in work}), 1):
        assembly = asked.components.assembly
        touched = np.zeros(assembly.size, dtype=bool)
        touched[[component for component, _, on in work if on == day]] = True
        for _ in range(touched.size):
            below = touched | (
                touched[asked.components.assembly] & (asked.components.assembly >= 0)
            )
            if np.array_equal(below, touched):
                break
            touched = below
        kept.append(stage * size + np.flatnonzero(touched[asked.items.component]))
    return np.concatenate(kept)


def _gather(
    found: dict[tuple[int, int], dict[int, Occurrence]],
    answer: Answer,
    rows: Ints,
    origins: tuple[int, ...],
) -> None:
    """Keep of each item the earliest due day for each start; `rows` name the items asked."""
    for row in range(answer.due.size):
        origin, place = int(answer.origin[row]), int(answer.row[row])
        if origin not in origins:
            continue
        key = (origin, int(rows[place]) if origin == RULE else place)
        by_start = found.setdefault(key, {})
        start, due = _start(answer, row), int(answer.due[row])
        if start not in by_start or due < by_start[start].due:
            by_start[start] = Occurrence(start, due, answer, row, int(NEVER))


def _start(answer: Answer, row: int) -> int:
    place = int(answer.row[row])
    if answer.origin[row] == RULE:
        return int(answer.by_rule.time.clock.start[place])
    if answer.origin[row] == INSPECTION:
        passed = int(answer.certificate.passed[place])
        return int(answer.shared.batch.inspections.day[passed]) if passed >= 0 else int(NO_DAY)
    return int(NO_DAY)


def _in_order(by_start: dict[int, Occurrence], end: int) -> list[Occurrence]:
    """Return occurrences in order of days, each done when the next begins, the last on a day."""
    starts = sorted(by_start)
    ends = [*starts[1:], int(end)]
    return [replace(by_start[start], done=end) for start, end in zip(starts, ends, strict=True)]


def planned_yearly(shared: Context, yearly: int, until: int) -> Forecast:
    """Return the rates of a car that is to cover so much a year.

    Parameters
    ----------
    shared : Context
        One car with the plan's lay-ups.
    yearly : int
        Distance a year [0.1 mm].
    until : int
        End of the plan [days since 1970-01-01].

    Returns
    -------
    Forecast
        The distance from the day asked about to the end of the plan, spread evenly over the days
        in use between them; it has no band.

    References
    ----------
    .. [1] Julian year of 365.25 days.
    """
    days = until - shared.on
    return _planned(shared, yearly * MEAN_YEAR_DAYS[1] * days, until, MEAN_YEAR_DAYS[0])


def planned_total(shared: Context, total: int, until: int) -> Forecast:
    """Return the rates of a car that is to cover a distance by a day.

    Parameters
    ----------
    shared : Context
        One car with the plan's lay-ups.
    total : int
        Distance [0.1 mm].
    until : int
        Day by which it is covered [days since 1970-01-01]; the rate goes on after it.

    Returns
    -------
    Forecast
        The distance spread evenly over the days in use; it has no band.

    References
    ----------
    .. [1] Common practice.
    """
    return _planned(shared, total, until, 1)


def _planned(shared: Context, distance: int, until: int, divisor: int) -> Forecast:
    car = np.array([0])
    used = days_in_use(shared.stands, car, np.array([shared.on]), np.array([until]))
    known = shared.forecast.of(np.arange(shared.lives.cars))
    # Cars after the first only lent parts to it: they went as far as they went.
    first = np.arange(shared.lives.cars) == 0
    planned, days = np.where(used > 0, distance, 0), used * divisor

    def rate(was: Rate) -> Rate:
        return Rate(np.where(first, planned, was.distance), np.where(first, days, was.days))

    return replace(
        known,
        central=rate(known.central),
        early=rate(known.early),
        late=rate(known.late),
        from_readings=known.from_readings & ~first,
        window_first=np.where(first, -1, known.window_first),
    )
