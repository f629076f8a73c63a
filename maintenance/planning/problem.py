"""What a schedule is asked for: jobs, prerequisites, people, resources, deadline and budget."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.planning.errors import PlanningError
from maintenance.planning.jobs import (
    AFTER_READY,
    CRITICALITIES,
    SAFETY,
    Hold,
    Job,
    by_id,
    must_be_done,
)
from maintenance.planning.order import Prerequisite, in_order
from maintenance.planning.working_calendar import Grid, Person, Span, working_grid

#: Capacity of what any number of jobs can use at a time, such as the place where the car stands.
ANY_NUMBER = 1000


@dataclass(frozen=True, slots=True)
class Resource:
    """Something that only so many jobs can use at a time.

    Parameters
    ----------
    name : str
        "stands", "lift", "press", "bench", a hired tool, a rented place.
    capacity : int
        How many there are [pieces].
    daily_cost : int
        Hire or rent [minor units per calendar day].
    whole_span : bool
        Paid for every calendar day from the first use to the last (a rented place); else for the
        days in use alone, nights between them included where a job goes on (a hired lift).
    weekdays : tuple of int
        Weekdays on which it can be had, 0 for Monday; empty for all.
    closed : tuple of Span
        Days on which it can't be had.

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41: renewable resources.
    """

    name: str
    capacity: int = 1
    daily_cost: int = 0
    whole_span: bool = False
    weekdays: tuple[int, ...] = ()
    closed: tuple[Span, ...] = ()

    def open_on(self, day: date) -> bool:
        """Whether it can be had on a day."""
        on_weekday = not self.weekdays or day.weekday() in self.weekdays
        return on_weekday and not any(day in span for span in self.closed)


@dataclass(frozen=True, slots=True)
class Problem:
    """All that a schedule must respect.

    Parameters
    ----------
    jobs : tuple of Job
        The jobs.
    steps : tuple of Prerequisite
        What waits for what.
    people : tuple of Person
        Who does the work.
    on : datetime.date
        First day of work; parts are ordered on it.
    calendar_until : datetime.date
        Last day looked at.
    resources : tuple of Resource
        What the jobs share.
    holds : tuple of Hold
        Resources kept across jobs.
    deadline : datetime.date, optional
        Day by whose evening every job that is done is finished.
    budget : int, optional
        Most that may be spent [minor units], `spent` included.
    spent : int
        Already spent [minor units].
    closed : tuple of Span
        Days on which nobody works.
    one_day : tuple of tuple of str
        Groups of job ids, each done on one day where a day is long enough.
    slot_minutes : int
        Fineness of the plan [min].

    References
    ----------
    .. [1] Brucker, P. et al. (1999), EJOR 112, 3-41.
    """

    jobs: tuple[Job, ...]
    steps: tuple[Prerequisite, ...]
    people: tuple[Person, ...]
    on: date
    calendar_until: date
    resources: tuple[Resource, ...] = ()
    holds: tuple[Hold, ...] = ()
    deadline: date | None = None
    budget: int | None = None
    spent: int = 0
    closed: tuple[Span, ...] = ()
    one_day: tuple[tuple[str, ...], ...] = ()
    slot_minutes: int = 30

    def grid(self) -> Grid:
        """Working slots from the first day to the last."""
        return working_grid(
            self.people, self.on, self.calendar_until, self.closed, self.slot_minutes
        )

    def must_be_done(self, job: Job) -> bool:
        """Whether a job can't be left out: not optional, and called for by one such if by any."""
        return must_be_done(job, by_id(self.jobs))

    def before_ready(self, job: Job) -> bool:
        """Whether the car is ready for inspection only when this job is done."""
        return job.phase not in AFTER_READY and self.must_be_done(job)


@dataclass(frozen=True, slots=True)
class Settings:
    """How hard and how repeatably to search.

    Parameters
    ----------
    seed : int
        Seed of the search.
    effort : float
        Work allowed over all objectives, very roughly in seconds of one core; counted in the
        solver's conflicts and deterministic time and not by the clock, so that the same problem
        gives the same plan on any machine.
    samples : int
        First plans tried before the search.
    seconds : float
        Emergency stop by the clock, over all objectives [s]; a plan cut short by it says so. To
        find out why there is none may take half as long again.
    workers : int
        Searches run in turn; fixed, since the answer may depend on it.

    References
    ----------
    .. [1] OR-Tools CP-SAT parameters `random_seed`, `max_deterministic_time`,
       `max_number_of_conflicts`, `interleave_search`, `num_workers`.
    """

    seed: int = 1
    effort: float = 2.5
    samples: int = 24
    seconds: float = 60.0
    workers: int = 1


def checked(problem: Problem) -> Problem:
    """Return the problem as it is, or say what in it makes no sense.

    Parameters
    ----------
    problem : Problem
        What is asked for.

    Returns
    -------
    Problem
        The same.

    Raises
    ------
    PlanningError
        Names the job, the field and the remedy.
    CycleError
        Where jobs wait for each other in a ring.

    References
    ----------
    .. [1] Common practice.
    """
    jobs = by_id(problem.jobs)
    in_order(problem.jobs, problem.steps)
    capacity = {resource.name: resource.capacity for resource in problem.resources}
    for job in problem.jobs:
        _check_job(job, jobs)
        _check_people(job, problem.people)
        for use in job.uses:
            _check_use(job.name, use.resource, use.amount, capacity)
    for hold in problem.holds:
        for end in (hold.opener or hold.closer, hold.closer):
            if end not in jobs:
                raise PlanningError(f"{hold.name}: job {end!r} is not in the plan; add it")
        for use in hold.uses:
            _check_use(hold.name, use.resource, use.amount, capacity)
    if problem.calendar_until < problem.on:
        raise PlanningError("calendar_until lies before the first day; give a later one")
    return problem


def _check_job(job: Job, jobs: Mapping[str, Job]) -> None:
    if job.criticality not in CRITICALITIES:
        raise PlanningError(f"{job.name}: criticality {job.criticality!r} is unknown")
    if job.criticality == SAFETY and job.optional:
        raise PlanningError(f"{job.name}: a safety job can't be optional; clear `optional`")
    if not job.hours > 0:
        raise PlanningError(f"{job.name}: hours must be more than 0, not {job.hours}")
    if job.hands < 0 or (job.value or 0) < 0 or job.outlay < 0:
        raise PlanningError(f"{job.name}: hands, value and cost can't be below 0")
    seen = {job.id}
    callers = list(job.needed_by)
    while callers:
        other = callers.pop()
        if other not in jobs:
            raise PlanningError(f"{job.name}: needed_by names {other!r}, which is not in the plan")
        if other == job.id:
            raise PlanningError(f"{job.name}: is needed by itself; correct `needed_by`")
        if other not in seen:
            seen.add(other)
            callers += jobs[other].needed_by


def _check_people(job: Job, people: tuple[Person, ...]) -> None:
    able = [person for person in people if may_do(person, job)]
    if len(able) < job.hands:
        who = " or ".join(job.who) or "anyone"
        raise PlanningError(
            f"{job.name}: needs {job.hands} of {who} and the calendar has {len(able)}; "
            "add people or skills, or change `who` or `hands`"
        )


def _check_use(name: str, resource: str, amount: int, capacity: Mapping[str, int]) -> None:
    if resource not in capacity:
        raise PlanningError(f"{name}: resource {resource!r} is unknown; add it to `resources`")
    if not 0 < amount <= capacity[resource]:
        raise PlanningError(
            f"{name}: takes {amount} of {resource!r} and there are {capacity[resource]}; "
            "change the amount or hire more"
        )


def may_do(person: Person, job: Job) -> bool:
    """Whether a person may do a job.

    Parameters
    ----------
    person : Person
        Who.
    job : Job
        What.

    Returns
    -------
    bool
        True where the job names the person or one of their skills, or nobody in particular.

    References
    ----------
    .. [1] Common practice.
    """
    return not job.who or person.name in job.who or bool(set(person.skills) & set(job.who))
