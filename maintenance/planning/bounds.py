"""How early a plan can be finished at all: a bound by work and hands, worked out before searching.

The search proves little about many short jobs shared out among a few people; the sum of their hours
against the hours at hand proves it at once.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from maintenance.planning.crews import Crew, Group
from maintenance.planning.jobs import Job, by_id
from maintenance.planning.order import in_order
from maintenance.planning.problem import Problem
from maintenance.planning.working_calendar import Grid


@dataclass(frozen=True, slots=True)
class _Load:
    """Work that some capacity must take: not before `head`, with `tail` slots still to follow."""

    head: int
    tail: int
    work: int


def end_bound(
    problem: Problem,
    grid: Grid,
    groups: Sequence[Group],
    crews: Mapping[str, tuple[Crew, ...]],
    jobs: Iterable[Job],
) -> int:
    """Slot before which no plan can have all of some jobs done.

    Parameters
    ----------
    problem : Problem
        Jobs, prerequisites, people and resources.
    grid : Grid
        Its working slots.
    groups : sequence of Group
        The people.
    crews : mapping of str to tuple of Crew
        Ways to man each job.
    jobs : iterable of Job
        Those that are to be done.

    Returns
    -------
    int
        Lower bound of the end of the last of them [slots].

    Notes
    -----
    The largest of: the longest chain of prerequisites; and, for all people together, for each
    group and for each resource, the work of the jobs that begin late and have long chains behind
    them against the capacity of the slots from then on.

    References
    ----------
    .. [1] Carlier, J. & Latapie, B. (1991), Une méthode arborescente pour résoudre les problèmes
       cumulatifs, RAIRO 25(3): heads, bodies and tails on several machines.
    """
    jobs = [job for job in jobs if crews[job.id]]
    if not jobs:
        return 0
    load = _loads(problem, grid, jobs, crews)
    bounds = [max(one.head + one.work + one.tail for one in load(_shortest(crews), jobs))]

    def hand_slots(job: Job) -> int:
        return job.hands * grid.slots_for(job.hours)

    bounds.append(_bound(load(hand_slots, jobs), _present(groups, grid)))
    for group in groups:
        own = [j for j in jobs if not any(j.id in g.jobs for g in groups if g is not group)]
        bounds.append(_bound(load(hand_slots, own), _present([group], grid)))
    for resource in problem.resources:
        use = _use_of(resource.name, crews)
        bounds.append(_bound(load(use, jobs), np.full(grid.slots, resource.capacity)))
    return max(bounds)


_Work = Callable[[Job], int]


def _shortest(crews: Mapping[str, tuple[Crew, ...]]) -> _Work:
    return lambda job: min(crew.slots for crew in crews[job.id])


def _use_of(resource: str, crews: Mapping[str, tuple[Crew, ...]]) -> _Work:
    slots = _shortest(crews)
    return lambda job: slots(job) * sum(u.amount for u in job.uses if u.resource == resource)


def _loads(
    problem: Problem, grid: Grid, jobs: Sequence[Job], crews: Mapping[str, tuple[Crew, ...]]
) -> Callable[[_Work, Sequence[Job]], list[_Load]]:
    heads, tails = _heads_and_tails(problem, grid, jobs, crews)

    def loads(work: _Work, among: Sequence[Job]) -> list[_Load]:
        return [_Load(heads[j.id], tails[j.id], work(j)) for j in among if work(j)]

    return loads


def _present(groups: Sequence[Group], grid: Grid) -> npt.NDArray[np.int64]:
    rows = [np.array(group.present) * len(group.names) for group in groups]
    return np.sum(rows, axis=0, dtype=np.int64) if rows else np.zeros(grid.slots, dtype=np.int64)


def _heads_and_tails(
    problem: Problem,
    grid: Grid,
    jobs: Sequence[Job],
    crews: Mapping[str, tuple[Crew, ...]],
) -> tuple[dict[str, int], dict[str, int]]:
    """Earliest start of each job, and slots that must follow its end, by prerequisites alone."""
    known = by_id(jobs)
    steps = [s for s in problem.steps if s.before in known and s.after in known]
    shortest = {job.id: min(crew.slots for crew in crews[job.id]) for job in jobs}
    heads = {job.id: grid.first_slot(job.earliest_day(problem.on)) for job in jobs}
    tails = dict.fromkeys(known, 0)
    order = [job.id for job in in_order(jobs, steps)]
    for job in order:
        for step in steps:
            if step.before == job:
                heads[step.after] = max(heads[step.after], heads[job] + shortest[job])
    for job in reversed(order):
        for step in steps:
            if step.before == job:
                tails[job] = max(tails[job], shortest[step.after] + tails[step.after])
    return heads, tails


def _bound(loads: Sequence[_Load], capacity: npt.NDArray[np.int64]) -> int:
    """Latest end that the work of any set with common head and tail forces."""
    found = 0
    offered = np.concatenate([[0], np.cumsum(capacity)])
    for head in {load.head for load in loads}:
        for tail in {load.tail for load in loads}:
            work = sum(one.work for one in loads if one.head >= head and one.tail >= tail)
            if work:
                end = int(np.searchsorted(offered, offered[min(head, len(capacity))] + work))
                found = max(found, end + tail)
    return found
