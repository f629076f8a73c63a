"""Which job waits for which: prerequisites as a checked acyclic graph."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from graphlib import CycleError as GraphCycle
from graphlib import TopologicalSorter
from itertools import pairwise

from maintenance.planning.errors import CycleError, PlanningError
from maintenance.planning.jobs import Job, by_id, must_be_done
from maintenance.planning.rules import JobRules, PrecedenceRule, SequenceRule
from maintenance.planning.selectors import in_scope


@dataclass(frozen=True, slots=True)
class Prerequisite:
    """One job must be finished before another begins.

    Parameters
    ----------
    before, after : str
        Ids of the two jobs.
    reason, source : str
        Why, and who says so.
    lag_days : int
        Calendar days to let pass between the end and the start [days].

    References
    ----------
    .. [1] Common practice.
    """

    before: str
    after: str
    reason: str = ""
    source: str = ""
    lag_days: int = 0


def prerequisites(
    jobs: Sequence[Job], rules: JobRules, own: Sequence[Prerequisite] = ()
) -> tuple[Prerequisite, ...]:
    """Prerequisites that the rules and the keeper give for these jobs, checked for cycles.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs of the plan.
    rules : JobRules
        Rules of precedence and of sequence.
    own : sequence of Prerequisite
        Further ones: the keeper's own, or those that came with shared access.

    Returns
    -------
    tuple of Prerequisite
        One for each pair, the longest lag kept, in the order of the jobs.

    Raises
    ------
    CycleError
        Where jobs wait for each other in a ring; names them.
    PlanningError
        Where a prerequisite names a job that is not in the plan.

    References
    ----------
    .. [1] Common practice.
    """
    found: dict[tuple[str, str], Prerequisite] = {}
    for step in (*own, *_of_rules(jobs, rules)):
        kept = found.get((step.before, step.after))
        if kept is None or step.lag_days > kept.lag_days:
            found[step.before, step.after] = step
    in_order(jobs, tuple(found.values()))
    return tuple(found.values())


def _of_rules(jobs: Sequence[Job], rules: JobRules) -> list[Prerequisite]:
    steps = [step for rule in rules.precedence for step in _of_precedence(jobs, rule)]
    return steps + [step for chain in rules.sequence for step in _of_sequence(jobs, chain)]


def _of_precedence(jobs: Sequence[Job], rule: PrecedenceRule) -> list[Prerequisite]:
    first = [job for job in jobs if rule.before.matches(job)]
    if not rule.binds_wishes:
        known = by_id(jobs)
        first = [job for job in first if must_be_done(job, known)]
    then = [job for job in jobs if rule.after.matches(job)]
    return [
        Prerequisite(one.id, other.id, rule.reason, rule.source, rule.lag_days)
        for one in first
        for other in then
        if one.id != other.id and in_scope(rule.where, one, other)
    ]


def _of_sequence(jobs: Sequence[Job], rule: SequenceRule) -> list[Prerequisite]:
    return [
        Prerequisite(one.id, other.id, rule.reason, rule.source)
        for one, other in pairwise(_in_sequence(jobs, rule))
        if one.position != other.position
    ]


def _in_sequence(jobs: Sequence[Job], rule: SequenceRule) -> list[Job]:
    place = {position: index for index, position in enumerate(rule.positions)}
    group = [job for job in jobs if rule.jobs.matches(job) and job.position in place]
    return sorted(group, key=lambda job: place[job.position])


def one_day(jobs: Sequence[Job], rules: JobRules) -> tuple[tuple[str, ...], ...]:
    """Groups of jobs that the rules keep on one day.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs of the plan.
    rules : JobRules
        Rules of sequence.

    Returns
    -------
    tuple of tuple of str
        Ids of each group in its order.

    References
    ----------
    .. [1] Common practice.
    """
    groups = (_in_sequence(jobs, rule) for rule in rules.sequence if rule.one_day)
    return tuple(tuple(job.id for job in group) for group in groups if group)


def in_order(jobs: Sequence[Job], steps: Sequence[Prerequisite]) -> tuple[Job, ...]:
    """Jobs in an order that keeps every prerequisite; those free to go keep the given order.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs, each id once.
    steps : sequence of Prerequisite
        What waits for what.

    Returns
    -------
    tuple of Job
        All the jobs, prerequisites first.

    Raises
    ------
    CycleError
        Where jobs wait for each other in a ring; names them.
    PlanningError
        Where an id is used twice or a prerequisite names an unknown job.

    References
    ----------
    .. [1] Kahn, A. B. (1962), Topological sorting of large networks, CACM 5(11).
    """
    known = _checked_ids(jobs, steps)
    rank = {job.id: index for index, job in enumerate(jobs)}
    sorter: TopologicalSorter[str] = TopologicalSorter({job.id: set() for job in jobs})
    for step in steps:
        sorter.add(step.after, step.before)
    try:
        sorter.prepare()
    except GraphCycle as cycle:
        raise CycleError(tuple(known[job].name for job in cycle.args[1])) from None
    ordered: list[Job] = []
    while sorter.is_active():
        ready = sorted(sorter.get_ready(), key=rank.__getitem__)
        ordered += [known[job] for job in ready]
        sorter.done(*ready)
    return tuple(ordered)


def _checked_ids(jobs: Sequence[Job], steps: Sequence[Prerequisite]) -> dict[str, Job]:
    known = by_id(jobs)
    if len(known) < len(jobs):
        twice = Counter(job.id for job in jobs).most_common(1)[0][0]
        raise PlanningError(f"job id {twice!r} is used twice; give each job an id of its own")
    for step in steps:
        for job in (step.before, step.after):
            if job not in known:
                raise PlanningError(
                    f"a prerequisite names job {job!r}, which is not in the plan; "
                    "add the job or drop the prerequisite"
                )
    return known


def before(
    job: str, steps: Sequence[Prerequisite], through: Callable[[str], bool] | None = None
) -> set[str]:
    """Jobs that a job waits for, by one prerequisite or a chain of them.

    Parameters
    ----------
    job : str
        Its id.
    steps : sequence of Prerequisite
        What waits for what.
    through : callable, optional
        Whether a chain may lead through a job, by its id. A job that is left out holds nothing
        together: what waits for it does not wait for what it would have waited for.

    Returns
    -------
    set of str
        Ids, without the job's own.

    References
    ----------
    .. [1] Common practice.
    """
    return _reached(job, [(step.after, step.before) for step in steps], through)


def after(
    job: str, steps: Sequence[Prerequisite], through: Callable[[str], bool] | None = None
) -> set[str]:
    """Jobs that wait for a job, by one prerequisite or a chain of them.

    Parameters
    ----------
    job : str
        Its id.
    steps : sequence of Prerequisite
        What waits for what.
    through : callable, optional
        Whether a chain may lead through a job, by its id. A job that is left out holds nothing
        together: what waits for it does not wait for what it would have waited for.

    Returns
    -------
    set of str
        Ids, without the job's own.

    References
    ----------
    .. [1] Common practice.
    """
    return _reached(job, [(step.before, step.after) for step in steps], through)


def _reached(
    start: str, arrows: Iterable[tuple[str, str]], through: Callable[[str], bool] | None
) -> set[str]:
    onward: dict[str, list[str]] = {}
    for origin, to in arrows:
        onward.setdefault(origin, []).append(to)
    found: set[str] = set()
    heads = [start]
    while heads:
        new = set(onward.get(heads.pop(), ())) - found
        found |= new
        heads += [job for job in new if through is None or through(job)]
    return found
