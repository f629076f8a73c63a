"""Wishes: done wherever deadline and budget allow, after the car is ready where need be."""

from dataclasses import replace

from maintenance.planning.jobs import AFTER_READY, Job, by_id
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem
from maintenance.planning.serial import serial_schedule

#: Phase of a granted wish: the car may be ready before it is done.
AFTERWARDS = "afterwards"


def with_wishes(problem: Problem) -> Problem:
    """Make all wishes certain where a first plan shows that there is time for all of them.

    Parameters
    ----------
    problem : Problem
        What is asked for.

    Returns
    -------
    Problem
        The same where a wish may have to be left out; the search then decides.

    Notes
    -----
    What is certain is searched far quicker than what may be left out, and its bounds are sharper.
    With a budget the search decides, since the first plan does not look at money.

    References
    ----------
    .. [1] Common practice.
    """
    if problem.budget is not None or not any(job.is_wish for job in problem.jobs):
        return problem
    granted = replace(problem, jobs=tuple(_granted(job) for job in problem.jobs))
    placed = serial_schedule(granted)
    if placed is None:
        return problem
    last = max(at.end for at in placed.values())
    in_time = problem.deadline is None or last <= problem.grid().end_slot(problem.deadline)
    return granted if in_time else problem


def _granted(job: Job) -> Job:
    if not job.is_wish:
        return job
    return replace(job, optional=False, phase=job.phase if job.phase in AFTER_READY else AFTERWARDS)


def as_asked(plan: Plan, problem: Problem) -> Plan:
    """Return a plan with its jobs as they were asked for.

    Parameters
    ----------
    plan : Plan
        Made of granted wishes perhaps.
    problem : Problem
        What was asked for.

    Returns
    -------
    Plan
        Wishes are wishes again.

    References
    ----------
    .. [1] Common practice.
    """
    jobs = by_id(problem.jobs)
    return replace(plan, jobs=tuple(replace(p, job=jobs[p.job.id]) for p in plan.jobs))
