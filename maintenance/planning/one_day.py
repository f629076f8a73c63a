"""Work that is not left half done overnight: what is bled is bled on one day."""

from collections.abc import Mapping, Sequence

import numpy as np
from ortools.sat.python import cp_model

from maintenance.planning.jobs import by_id
from maintenance.planning.model import Model
from maintenance.planning.problem import Problem
from maintenance.planning.working_calendar import Grid


def day_groups(problem: Problem, grid: Grid) -> list[tuple[tuple[str, ...], tuple[int, ...]]]:
    """Groups of jobs that are done on one day, with the days that are long enough.

    Parameters
    ----------
    problem : Problem
        Jobs and groups.
    grid : Grid
        Its working slots.

    Returns
    -------
    list of (tuple of str, tuple of int)
        Ids in their order, and the index of each such day in the grid. A group for which no day
        is long enough, or of which a job is booked for a day, is left to spread.

    References
    ----------
    .. [1] Common practice.
    """
    jobs = by_id(problem.jobs)
    there = np.sum([np.array(row) for row in grid.present.values()], axis=0)
    found = []
    for group in problem.one_day:
        if len(group) < 2 or any(jobs[one].not_before is not None for one in group):
            continue
        work = sum(grid.slots_for(jobs[one].hours) for one in group)
        hands = max(jobs[one].hands for one in group)
        days = tuple(
            day
            for day in range(len(grid.days))
            if np.sum(there[grid.offsets[day] : grid.offsets[day + 1]] >= hands) >= work
        )
        if days:
            found.append((group, days))
    return found


def add_one_day(model: Model) -> None:
    """Keep the jobs of each group on one day.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    References
    ----------
    .. [1] Common practice.
    """
    for group, days in day_groups(model.problem, model.grid):
        on = {day: model.cp.new_bool_var("") for day in days}
        model.cp.add_exactly_one(on.values())
        for job in group:
            _keep_on(model, job, on)


def _keep_on(model: Model, job: str, on: Mapping[int, cp_model.IntVar]) -> None:
    made, offsets = model.jobs[job], model.grid.offsets
    for day, literal in on.items():
        for limit in (made.start >= offsets[day], made.end <= offsets[day + 1]):
            model.cp.add(limit).only_enforce_if(literal, made.present)


def whole_groups(problem: Problem, grid: Grid) -> dict[str, Sequence[str]]:
    """Group of each job that is done on one day with others.

    Parameters
    ----------
    problem : Problem
        Jobs and groups.
    grid : Grid
        Its working slots.

    Returns
    -------
    dict of str to sequence of str
        By job id, the ids of its group in their order.

    References
    ----------
    .. [1] Common practice.
    """
    return {job: group for group, _ in day_groups(problem, grid) for job in group}
