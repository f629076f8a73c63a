"""Who can do a job, and when it would end if they began at a given slot."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from maintenance.planning.jobs import Job
from maintenance.planning.problem import Problem, may_do
from maintenance.planning.working_calendar import Grid

NEVER = -1


@dataclass(frozen=True, slots=True)
class Group:
    """People who are alike to the plan: same hours, same jobs, same price.

    Parameters
    ----------
    names : tuple of str
        Its members.
    jobs : frozenset of str
        Ids of the jobs that they may do.
    present : tuple of bool
        For each slot, whether they are there.
    cost_per_hour : int
        [minor units per h].

    Notes
    -----
    Like people are counted rather than named while solving, which spares the search the trying of
    every swap.

    References
    ----------
    .. [1] Common practice.
    """

    names: tuple[str, ...]
    jobs: frozenset[str]
    present: tuple[bool, ...]
    cost_per_hour: int


@dataclass(frozen=True, slots=True)
class Crew:
    """One way to man a job, for those starts from which it takes the same time.

    Parameters
    ----------
    counts : tuple of (int, int)
        Group and number of its people.
    starts : tuple of int
        Slots at which the job may begin.
    slots : int
        Slots from its start to its end, those included in which the crew is away and others
        work [slots].

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41: multi-mode jobs.
    """

    counts: tuple[tuple[int, int], ...]
    starts: tuple[int, ...]
    slots: int


def groups_of(problem: Problem, grid: Grid) -> tuple[Group, ...]:
    """Sort the people into groups that are alike to the plan.

    Parameters
    ----------
    problem : Problem
        Jobs and people.
    grid : Grid
        Its working slots.

    Returns
    -------
    tuple of Group
        In the order of their first members.

    References
    ----------
    .. [1] Common practice.
    """
    members: dict[tuple[frozenset[str], tuple[bool, ...], int], list[str]] = {}
    for person in problem.people:
        able = frozenset(job.id for job in problem.jobs if may_do(person, job))
        key = (able, grid.present[person.name], person.cost_per_hour)
        members.setdefault(key, []).append(person.name)
    return tuple(
        Group(tuple(names), able, present, cost) for (able, present, cost), names in members.items()
    )


def crews_for(job: Job, groups: Sequence[Group], grid: Grid) -> tuple[Crew, ...]:
    """All ways to man a job.

    Parameters
    ----------
    job : Job
        The job.
    groups : sequence of Group
        The people.
    grid : Grid
        The working slots.

    Returns
    -------
    tuple of Crew
        One for each way to choose the hands from the groups and for each time that the job then
        takes from start to end; the quickest first.

    References
    ----------
    .. [1] Common practice.
    """
    able = [index for index, group in enumerate(groups) if job.id in group.jobs]
    choices = product(*(range(min(job.hands, len(groups[i].names)) + 1) for i in able))
    crews = []
    for numbers in choices:
        if sum(numbers) == job.hands:
            counts = tuple((i, n) for i, n in zip(able, numbers, strict=True) if n)
            crews += _crews(job, counts, groups, grid)
    return tuple(crews)


def _crews(
    job: Job, counts: tuple[tuple[int, int], ...], groups: Sequence[Group], grid: Grid
) -> list[Crew]:
    together = np.ones(grid.slots, dtype=bool)
    for index, _ in counts:
        together &= np.array(groups[index].present, dtype=bool)
    slots = grid.slots_for(job.hours)
    ends = _ends(together, slots)
    if job.in_one_go:
        ends = _within_a_day(ends, slots, grid)
    takes = np.where(ends == NEVER, NEVER, ends - np.arange(len(ends)))
    times = [int(time) for time in np.unique(takes) if time != NEVER]
    if slots in times:
        # Half-done work is not left lying while others go on, unless it must be: this also
        # spares the search a way to man the job for every pattern of absence.
        times = [slots]
    return [Crew(counts, tuple(np.flatnonzero(takes == t).tolist()), t) for t in times]


def _ends(together: npt.NDArray[np.bool_], slots: int) -> npt.NDArray[np.int64]:
    """End of the job for each start: the slot after the last of its working slots."""
    working = np.flatnonzero(together)
    ends = np.full(len(together), NEVER, dtype=np.int64)
    if len(working) >= slots:
        ends[working[: len(working) - slots + 1]] = working[slots - 1 :] + 1
    return ends


def _within_a_day(ends: npt.NDArray[np.int64], slots: int, grid: Grid) -> npt.NDArray[np.int64]:
    """Drop the starts from which the job would pause for a night or for a lunch hour."""
    start = np.arange(len(ends))
    first_of_day = np.searchsorted(grid.offsets, start, side="right") - 1
    last_of_day = np.searchsorted(grid.offsets, np.maximum(ends - 1, 0), side="right") - 1
    clock = np.array(grid.clock)
    whole = clock[np.maximum(ends - 1, 0)] - clock == (slots - 1) * grid.slot_minutes
    kept = (ends == start + slots) & (first_of_day == last_of_day) & whole
    return np.where(kept, ends, NEVER)
