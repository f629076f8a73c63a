"""How far each job of a schedule may slip before the car is ready later, whoever does it."""

from collections.abc import Mapping, Sequence

from maintenance.planning.crews import Crew
from maintenance.planning.jobs import OPEN, Job
from maintenance.planning.model import Model
from maintenance.planning.outcome import PlannedJob


def float_days(
    model: Model, jobs: Sequence[PlannedJob], crews: Mapping[str, Crew], ready_slot: int
) -> dict[str, int]:
    """Whole working days by which each job may slip, what waits for it slipping with it.

    Parameters
    ----------
    model : Model
        Problem and working slots.
    jobs : sequence of PlannedJob
        The schedule.
    crews : mapping of str to Crew
        By job id, who does it.
    ready_slot : int
        Slot that ends the day on which the car is ready [slots].

    Returns
    -------
    dict of str to int
        By job id [working days]. Jobs for after that day may slip to the calendar's end.

    Notes
    -----
    The order in which people go from job to job is not kept: whoever is free takes what is next.
    So a job of no float makes the car later whoever does what, and one with float may slip where
    hands are found for it later. Days on which a single resource can't be had are not looked at:
    a job may slip less than said where it needs one that is hired for some days only.

    References
    ----------
    .. [1] Kelley, J. E. & Walker, M. R. (1959), Critical-path planning and scheduling: total
       float, here over prerequisites and over the order on things and on the car itself.
    """
    grid, problem = model.grid, model.problem
    latest: dict[str, int] = {}
    later = _later(model, jobs)
    for planned in sorted(jobs, key=lambda p: (p.start_slot, p.end_slot), reverse=True):
        job = planned.job
        limit = ready_slot if problem.before_ready(job) else grid.slots
        limit = min([limit, *(latest[other] for other in later[job.id])])
        crew = crews[job.id]
        starts = [start for start in crew.starts if start + crew.slots <= limit]
        if not problem.before_ready(job):
            starts = [start for start in starts if _car_is_free(jobs, job, start, crew.slots)]
        latest[job.id] = max([planned.start_slot, *starts])
    return {p.job.id: grid.day_index(latest[p.job.id]) - grid.day_index(p.start_slot) for p in jobs}


def _later(model: Model, jobs: Sequence[PlannedJob]) -> dict[str, set[str]]:
    """For each job those that must wait until it is finished."""
    later: dict[str, set[str]] = {planned.job.id: set() for planned in jobs}
    for step in model.problem.steps:
        if step.before in later and step.after in later:
            later[step.before].add(step.after)
    scarce = {one.name for one in model.problem.resources if one.capacity < len(jobs)}
    for one in jobs:
        for other in jobs:
            if one.end_slot <= other.start_slot and (
                _uses(one) & _uses(other) & scarce or _wants_car(model, one, other)
            ):
                later[one.job.id].add(other.job.id)
    holds = [h for h in model.problem.holds if h.closer in later and h.opener in {OPEN, *later}]
    planned = {one.job.id: one for one in jobs}
    for first in holds:
        for then in holds:
            things = {use.resource for use in first.uses} & {use.resource for use in then.uses}
            if not things or then.opener == OPEN:
                continue
            if planned[first.closer].end_slot <= planned[then.opener].start_slot:
                later[first.closer].add(then.opener)
    return later


def _uses(planned: PlannedJob) -> set[str]:
    return {use.resource for use in planned.job.uses}


def _wants_car(model: Model, one: PlannedJob, other: PlannedJob) -> bool:
    """Whether one of two jobs takes the car whole and the car waits for both to be ready.

    What it does not wait for need not come before a drive: it may pass it.
    """
    if not (one.job.takes_car or other.job.takes_car):
        return False
    ready = model.problem.before_ready
    return (ready(one.job) and ready(other.job)) or (one.job.takes_car and other.job.takes_car)


def _car_is_free(jobs: Sequence[PlannedJob], job: Job, start: int, slots: int) -> bool:
    """Whether a job at another time would find the car free of those that take it whole."""
    return all(
        other.job.id == job.id
        or not (other.job.takes_car or job.takes_car)
        or start + slots <= other.start_slot
        or other.end_slot <= start
        for other in jobs
    )
