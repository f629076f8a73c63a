"""A first plan by the serial schedule-generation scheme: one job after the other, each as early
as it fits. It gives the search a start and the benchmark something to be measured against.
"""

from collections.abc import Mapping, Sequence
from random import Random

from maintenance.planning.board import Board, Placed, Setting, setting_for
from maintenance.planning.jobs import Hold, Job, by_id
from maintenance.planning.one_day import whole_groups
from maintenance.planning.order import Prerequisite, after, before, in_order
from maintenance.planning.problem import Problem

#: By how much a sampled priority may differ from the tail it is made from.
SPREAD = 0.3


class SerialScheme:
    """Places the jobs of one problem in the order of their priorities, as often as wished.

    Parameters
    ----------
    problem : Problem
        What is asked for; deadline, budget and hire are not looked at.
    with_optional : bool
        Whether the optional jobs are placed too.

    References
    ----------
    .. [1] Kolisch, R. (1996), Serial and parallel resource-constrained project scheduling
       methods revisited, EJOR 90, 320-333.
    """

    def __init__(self, problem: Problem, with_optional: bool = False) -> None:
        jobs = [job for job in problem.jobs if with_optional or problem.must_be_done(job)]
        self.problem = problem
        kept = {job.id for job in jobs}
        steps = [s for s in problem.steps if s.before in kept and s.after in kept]
        self.setting: Setting = setting_for(problem)
        self.jobs = by_id(jobs)
        self.holds = tuple(hold for hold in problem.holds if hold.closer in kept)
        self.tails = _tails(jobs, steps)
        self.inside = {h.closer: _inside(h, steps) for h in self.holds}
        self.waits: dict[str, list[Prerequisite]] = {job: [] for job in kept}
        for step in steps:
            self.waits[step.after].append(step)
        self.blockers = {job: {s.before for s in self.waits[job]} for job in kept}
        for hold in self.holds:
            if hold.opener in kept:
                # Two holds on one resource, each open and waiting for the other, would never end.
                group = self.inside[hold.closer] | {hold.opener}
                needed = {s.before for job in group for s in self.waits[job]}
                self.blockers[hold.opener] |= needed - group

        groups = whole_groups(problem, self.setting.grid)
        self.groups = {
            job: [one for one in groups[job] if one in kept] for job in groups if job in kept
        }

    def plan(self, priority: Mapping[str, float]) -> Mapping[str, Placed] | None:
        """Place all jobs, those of an open hold first, then by priority.

        Parameters
        ----------
        priority : mapping of str to float
            By job id; the highest is placed first.

        Returns
        -------
        mapping of str to Placed, or None
            By job id; none where a job does not fit into the calendar in this order. Optional
            jobs that are worth their outlay fill the gaps.
        """
        board = Board.empty(self.setting)
        left = dict.fromkeys(self.jobs)
        while left:
            held = self._held(left)
            ready = [job for job in left if self._is_ready(job, left)]
            job = min(ready, key=lambda one: (one not in held, -priority[one]), default=None)
            placed = self._place(board, job) if job is not None else []
            if not placed:
                return None
            for one in placed:
                del left[one]
        self._add_wishes(board)
        return board.placed

    def _is_ready(self, job: str, left: Mapping[str, None]) -> bool:
        group = set(self.groups.get(job, ()))
        return all(self.blockers[one].isdisjoint(left.keys() - group) for one in {job, *group})

    def _place(self, board: Board, job: str) -> Sequence[str]:
        """Place a job, or the whole group that is done on one day with it; none if nowhere."""
        group = self.groups.get(job, [job])
        if len(group) > 1:
            done = board.place_on_one_day([self.jobs[one] for one in group], self.waits)
        else:
            done = board.place(self.jobs[job], self.waits[job])
        return group if done else []

    def _add_wishes(self, board: Board) -> None:
        """Fill gaps with optional jobs that are worth their outlay and that no other calls for."""
        called = {other for job in self.problem.jobs for other in job.needed_by}
        ends = {hold.opener for hold in self.holds} | {hold.closer for hold in self.holds}
        wishes = [
            job
            for job in self.problem.jobs
            if job.id not in board.placed and not job.needed_by
            if job.optional and (job.value is None or job.value > job.outlay)
            if job.id not in called | ends
        ]
        for job in sorted(wishes, key=lambda job: (job.outlay - (job.value or 0), job.id)):
            steps = self.problem.steps
            waits = [s for s in steps if s.after == job.id and s.before in board.placed]
            then = [s for s in steps if s.before == job.id and s.after in board.placed]
            if not any(step.lag_days for step in then):
                latest = min((board.placed[s.after].start for s in then), default=None)
                board.place(job, waits, latest)

    def _held(self, left: Mapping[str, None]) -> set[str]:
        begun = [h for h in self.holds if h.opener not in left and h.closer in left]
        return {job for hold in begun for job in self.inside[hold.closer]}


def serial_schedule(problem: Problem, with_optional: bool = False) -> Mapping[str, Placed] | None:
    """Place every job as early as it fits, the longest tails first.

    Parameters
    ----------
    problem : Problem
        What is asked for; deadline, budget and hire are not looked at.
    with_optional : bool
        Whether the optional jobs are placed too.

    Returns
    -------
    mapping of str to Placed, or None
        By job id; none where a job does not fit into the calendar in this order.

    References
    ----------
    .. [1] Kolisch, R. (1996), EJOR 90, 320-333.
    """
    scheme = SerialScheme(problem, with_optional)
    return scheme.plan(scheme.tails)


def sampled_schedule(
    problem: Problem, samples: int, seed: int, enough: int
) -> Mapping[str, Placed] | None:
    """Best of several serial plans whose priorities are shaken.

    Parameters
    ----------
    problem : Problem
        What is asked for; deadline, budget and hire are not looked at.
    samples : int
        Number of plans made beyond the one with unshaken priorities.
    seed : int
        Seed of the shaking.
    enough : int
        No plan can be ready before this slot; one that is ready by it ends the sampling [slots].

    Returns
    -------
    mapping of str to Placed, or None
        By job id; none where no plan fits into the calendar.

    References
    ----------
    .. [1] Kolisch, R. (1996), EJOR 90, 320-333: sampling with the serial scheme.
    """
    scheme = SerialScheme(problem)
    rng = Random(seed)
    best = scheme.plan(scheme.tails)
    best_end = _end(scheme, best)
    for _ in range(samples):
        if best_end[0] <= enough:
            break
        shaken = {
            job: tail * rng.uniform(1 - SPREAD, 1 + SPREAD) for job, tail in scheme.tails.items()
        }
        plan = scheme.plan(shaken)
        end = _end(scheme, plan)
        if end < best_end:
            best, best_end = plan, end
    return best


def _end(scheme: SerialScheme, plan: Mapping[str, Placed] | None) -> tuple[int, int]:
    """End of the jobs before the inspection, then of all [slots]."""
    problem, grid = scheme.setting.problem, scheme.setting.grid
    if plan is None:
        return grid.slots + 1, grid.slots + 1
    ready = [plan[job].end for job in scheme.jobs if problem.before_ready(scheme.jobs[job])]
    return max(ready, default=0), max((plan[job].end for job in scheme.jobs), default=0)


def _inside(hold: Hold, steps: Sequence[Prerequisite]) -> set[str]:
    """Jobs between the two ends of a hold, the closer included."""
    inside = before(hold.closer, steps)
    if hold.opener:
        inside &= after(hold.opener, steps)
    return inside | {hold.closer}


def _tails(jobs: Sequence[Job], steps: Sequence[Prerequisite]) -> dict[str, float]:
    """Hours of the longest chain that begins with each job."""
    follow: dict[str, list[str]] = {job.id: [] for job in jobs}
    for step in steps:
        follow[step.before].append(step.after)
    tails: dict[str, float] = {}
    for job in reversed(in_order(jobs, steps)):
        tails[job.id] = job.hours + max((tails[then] for then in follow[job.id]), default=0.0)
    return tails
