"""Free hands and things, slot by slot, while jobs are placed one after the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from maintenance.planning.crews import Crew, crews_for, groups_of
from maintenance.planning.jobs import OPEN, Hold, Job, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.problem import Problem
from maintenance.planning.working_calendar import Grid

#: Taken once by each job on the car, and whole by one that takes the car.
CAR = "the car"
Slots = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a job was put.

    Parameters
    ----------
    start, end : int
        First slot, and slot after the last [slots].
    crew : Crew
        Who does it.

    References
    ----------
    .. [1] Kelley, J. E. (1963), The critical-path method: resources planning and scheduling.
    """

    start: int
    end: int
    crew: Crew


@dataclass(frozen=True, slots=True)
class Setting:
    """What stays the same however often the jobs are placed anew.

    Parameters
    ----------
    problem : Problem
        What is asked for.
    grid : Grid
        Its working slots.
    crews : mapping of str to tuple of (Crew, array)
        Ways to man each job, each with the slots at which it may begin.
    free : mapping of str to array
        Free capacity of each resource, by slot [pieces].
    people : tuple of array
        People of each group, by slot [persons].

    References
    ----------
    .. [1] Common practice.
    """

    problem: Problem
    grid: Grid
    crews: Mapping[str, tuple[tuple[Crew, Slots], ...]]
    free: Mapping[str, Slots]
    people: tuple[Slots, ...]


def setting_for(problem: Problem) -> Setting:
    """Lay out the capacity of people and resources.

    Parameters
    ----------
    problem : Problem
        What is asked for.

    Returns
    -------
    Setting
        Holds that are open when the plan begins are booked.

    References
    ----------
    .. [1] Common practice.
    """
    grid = problem.grid()
    groups = groups_of(problem, grid)
    lengths = np.diff(grid.offsets)
    free: dict[str, Slots] = {}
    for resource in problem.resources:
        open_days = np.array([resource.open_on(day) for day in grid.days], dtype=np.int64)
        free[resource.name] = np.repeat(open_days, lengths) * resource.capacity
    free[CAR] = np.full(grid.slots, len(problem.jobs), dtype=np.int64)
    for hold in problem.holds:
        if hold.opener == OPEN:
            for use in hold.uses:
                free[use.resource] -= use.amount
    crews = {
        job.id: tuple((crew, np.array(crew.starts)) for crew in crews_for(job, groups, grid))
        for job in problem.jobs
    }
    people = tuple(np.full(grid.slots, len(group.names), dtype=np.int64) for group in groups)
    return Setting(problem, grid, crews, free, people)


@dataclass(slots=True)
class Board:
    """Jobs placed so far and the capacity that is left.

    Parameters
    ----------
    setting : Setting
        What it begins with.
    free, people
        What is left of the setting's capacity.
    placed : dict of str to Placed
        By job id.

    References
    ----------
    .. [1] Kolisch, R. (1996), EJOR 90, 320-333.
    """

    setting: Setting
    free: dict[str, Slots]
    people: list[Slots]
    placed: dict[str, Placed] = field(default_factory=dict)

    @classmethod
    def empty(cls, setting: Setting) -> "Board":
        """Return a board with nothing on it."""
        free = {name: row.copy() for name, row in setting.free.items()}
        return cls(setting, free, [row.copy() for row in setting.people])

    def copy(self) -> "Board":
        """Return a board with the same on it."""
        free = {name: row.copy() for name, row in self.free.items()}
        return Board(self.setting, free, [row.copy() for row in self.people], dict(self.placed))

    def place_on_one_day(
        self, jobs: Sequence[Job], waits: Mapping[str, Sequence[Prerequisite]]
    ) -> bool:
        """Put jobs one after the other on the first day that takes them all; false if none."""
        grid = self.setting.grid
        day = 0
        while day < len(grid.days):
            tried = self.copy()
            if not tried.place(jobs[0], waits[jobs[0].id], earliest=grid.offsets[day]):
                return False
            day = grid.day_index(tried.placed[jobs[0].id].start) + 1
            evening = grid.offsets[day]
            if tried.placed[jobs[0].id].end <= evening and all(
                tried.place(job, waits[job.id], evening) for job in jobs[1:]
            ):
                self.free, self.people, self.placed = tried.free, tried.people, tried.placed
                return True
        return False

    def place(
        self,
        job: Job,
        steps: Sequence[Prerequisite],
        latest: int | None = None,
        earliest: int = 0,
    ) -> bool:
        """Put a job where it ends earliest after those that it waits for; false if nowhere.

        With `latest` it must end by that slot; it begins not before `earliest`.
        """
        problem, grid = self.setting.problem, self.setting.grid
        known = grid.first_slot(job.earliest_day(problem.on))
        earliest = max([earliest, known, *(self._after(step) for step in steps)])
        opened = [hold for hold in problem.holds if hold.opener == job.id]
        found: list[Placed] = []
        for crew, starts in self.setting.crews[job.id]:
            start = self._first_fit(job, crew, starts[starts >= earliest], opened)
            if start is not None and (latest is None or start + crew.slots <= latest):
                found.append(Placed(start, start + crew.slots, crew))
        if not found:
            return False
        best = min(found, key=lambda at: at.end)
        self.placed[job.id] = best
        self._book(job, best, opened)
        return True

    def _after(self, step: Prerequisite) -> int:
        end = self.placed[step.before].end
        if not step.lag_days:
            return end
        grid = self.setting.grid
        day = grid.day_of_end(end)
        return max(end, grid.first_slot(day.fromordinal(day.toordinal() + step.lag_days)))

    def _first_fit(self, job: Job, crew: Crew, starts: Slots, opened: Sequence[Hold]) -> int | None:
        if not len(starts):
            return None
        free = np.ones(self.setting.grid.slots, dtype=bool)
        for index, count in crew.counts:
            free &= self.people[index] >= count
        for use in self._uses(job):
            free &= self.free[use.resource] >= use.amount
        taken = np.concatenate([[0], np.cumsum(~free)])
        fits = taken[starts + crew.slots] == taken[starts]
        for use in (use for hold in opened for use in hold.uses):
            # How long it will be held is not known yet: it must be free from here on.
            busy = np.flatnonzero(self.free[use.resource] < use.amount)
            fits &= starts > (busy[-1] if len(busy) else -1)
        return int(starts[np.argmax(fits)]) if fits.any() else None

    def _uses(self, job: Job) -> Sequence[Use]:
        return (*job.uses, Use(CAR, len(self.setting.problem.jobs) if job.takes_car else 1))

    def _book(self, job: Job, at: Placed, opened: Sequence[Hold]) -> None:
        """Book a job; a hold is booked to the calendar's end and released by its closer."""
        for index, count in at.crew.counts:
            self.people[index][at.start : at.end] -= count
        self._take(self._uses(job), slice(at.start, at.end), 1)
        for hold in opened:
            self._take(hold.uses, slice(at.start, None), 1)
        for hold in self.setting.problem.holds:
            if hold.closer == job.id:
                self._take(hold.uses, slice(at.end, None), -1)

    def _take(self, uses: Sequence[Use], slots: slice, sign: int) -> None:
        for use in uses:
            self.free[use.resource][slots] -= sign * use.amount
