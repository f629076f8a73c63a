"""Demands that a plan may be unable to meet together, and their wording."""

from dataclasses import dataclass
from datetime import date

from maintenance.planning.jobs import Job
from maintenance.planning.problem import ANY_NUMBER, Problem, Resource


@dataclass(frozen=True, slots=True)
class Demand:
    """One thing asked of the plan that could be given up.

    Parameters
    ----------
    kind : str
        "job", "deadline", "budget", "resource", "people", "item" or "week".
    subject : str
        What it is about: a job id, a day, a name.
    words : str
        The demand as a half-sentence.

    References
    ----------
    .. [1] Common practice.
    """

    kind: str
    subject: str
    words: str


def job_demand(job: Job, problem: Problem) -> Demand:
    """Demand that a job be done, with the facts that may stand in its way.

    Parameters
    ----------
    job : Job
        The job.
    problem : Problem
        Its plan, for the day on which parts are ordered.

    Returns
    -------
    Demand
        Of kind "job".

    References
    ----------
    .. [1] Common practice.
    """
    facts = [f"{job.hours:g} h"]
    if job.hands > 1:
        facts.append(f"{job.hands} people")
    late = max(job.parts, key=lambda part: part.arrival(problem.on), default=None)
    if late is not None and late.arrival(problem.on) > problem.on:
        facts.append(f"{late.name} arrives on {late.arrival(problem.on)}")
    if job.not_before is not None:
        facts.append(f"not before {job.not_before}")
    if job.outlay:
        facts.append(f"costs {money(job.outlay)}")
    return Demand("job", job.id, f"{job.name} is done ({', '.join(facts)})")


def deadline_demand(day: date) -> Demand:
    """Demand that everything be finished by the evening of a day.

    Parameters
    ----------
    day : datetime.date
        The last day.

    Returns
    -------
    Demand
        Of kind "deadline".

    References
    ----------
    .. [1] Common practice.
    """
    return Demand("deadline", day.isoformat(), f"everything is finished by {day}")


def budget_demand(budget: int, spent: int) -> Demand:
    """Demand that no more be spent than there is.

    Parameters
    ----------
    budget, spent : int
        Most that may be spent, and what is spent already [minor units].

    Returns
    -------
    Demand
        Of kind "budget".

    References
    ----------
    .. [1] Common practice.
    """
    already = f", of which {money(spent)} is spent" if spent else ""
    return Demand("budget", str(budget), f"no more than {money(budget)} is spent{already}")


def resource_demand(resource: Resource) -> Demand:
    """Demand that no more of a resource be used than there is.

    Parameters
    ----------
    resource : Resource
        The resource.

    Returns
    -------
    Demand
        Of kind "resource".

    References
    ----------
    .. [1] Common practice.
    """
    if resource.capacity >= ANY_NUMBER:
        words = f"{resource.name!r} can be had on some days only"
        return Demand("resource", resource.name, words)
    words = f"only {resource.capacity} of {resource.name!r} can be used at a time"
    limits = " and only on some days" if resource.weekdays or resource.closed else ""
    return Demand("resource", resource.name, words + limits)


def people_demand(names: tuple[str, ...]) -> Demand:
    """Demand that people do one job at a time.

    Parameters
    ----------
    names : tuple of str
        The people.

    Returns
    -------
    Demand
        Of kind "people".

    References
    ----------
    .. [1] Common practice.
    """
    who = " and ".join(names)
    verb = "does" if len(names) == 1 else "each do"
    return Demand("people", ", ".join(names), f"{who} {verb} one job at a time")


def money(minor: int) -> str:
    """Amount with two decimals, without a currency, which the planner doesn't know.

    Parameters
    ----------
    minor : int
        Amount [minor units].

    Returns
    -------
    str
        "1234.50" for 123450.

    References
    ----------
    .. [1] Common practice.
    """
    sign = "-" if minor < 0 else ""
    return f"{sign}{abs(minor) // 100}.{abs(minor) % 100:02d}"
