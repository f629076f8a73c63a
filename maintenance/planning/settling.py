"""Work that other work of the same plan makes needless: no look at what is renewed anyway."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from maintenance.planning.assemblies import RENEW
from maintenance.planning.build_rules import SettlesRule
from maintenance.planning.jobs import CRITICALITIES, Job, by_id, joined, must_be_done
from maintenance.planning.rules import JobRules
from maintenance.planning.wanted import Expansion

INSPECT = "inspect"


def settled(made: Expansion, rules: JobRules, finished: Collection[str]) -> Expansion:
    """Take out the jobs that graver work on the same component makes needless.

    Parameters
    ----------
    made : Expansion
        All jobs, those that the rules added included.
    rules : JobRules
        Which task settles which.
    finished : collection of str
        Ids of jobs that are done, which settle nothing that is asked for now.

    Returns
    -------
    Expansion
        The graver job stands in for the lighter one wherever a job, a prerequisite or a hold
        names it, and takes over its criticality and its tags. A new assembly stands in for work
        on the pieces that it brings.

    Notes
    -----
    Where the graver job is a wish, or called for by wishes alone, what must be done stays and is
    done unless the wish is.

    References
    ----------
    .. [1] Common practice.
    """
    instead = _instead(made.jobs, rules, finished, sure=True)
    perhaps = _instead(made.jobs, rules, finished, sure=False)
    known = by_id(made.jobs)
    steps = [
        replace(s, before=instead.get(s.before, s.before), after=instead.get(s.after, s.after))
        for s in made.steps
    ]
    holds = [
        replace(h, opener=instead.get(h.opener, h.opener), closer=instead.get(h.closer, h.closer))
        for h in made.holds
    ]
    return Expansion(
        tuple(
            replace(_for(job, known, instead), unless=_unless(job, perhaps, instead))
            for job in made.jobs
            if job.id not in instead
        ),
        tuple(step for step in dict.fromkeys(steps) if step.before != step.after),
        tuple(holds),
    )


def _instead(
    jobs: Collection[Job], rules: JobRules, finished: Collection[str], *, sure: bool
) -> Mapping[str, str]:
    """Ids of needless jobs with that of the job which makes them so, the gravest of several.

    `sure` where the graver job is done if the lighter one would be; else where it may be left out.
    """
    known = by_id(jobs)
    found: dict[str, str] = {}
    for row in rules.settles:
        for grave in jobs:
            if grave.task == row.task and grave.id not in finished and grave.id not in found:
                for job in jobs:
                    firm = must_be_done(grave, known) or not must_be_done(job, known)
                    if firm is sure and _covers(row, grave, job):
                        found.setdefault(job.id, grave.id)
    return {light: _last(grave, found) for light, grave in found.items() if light not in finished}


def _covers(row: SettlesRule, grave: Job, light: Job) -> bool:
    """Whether one job makes another needless; a piece that comes new is not renewed besides."""
    same = (grave.kind, grave.position) == (light.kind, light.position)
    comes_with_it = not same and light.component in grave.clears
    if light.task in row.settles:
        return same or comes_with_it
    return comes_with_it and light.task == row.task == RENEW


def _last(grave: str, found: Mapping[str, str]) -> str:
    """The job that stands in where what makes another needless is needless itself."""
    while grave in found:
        grave = found[grave]
    return grave


def _unless(job: Job, perhaps: Mapping[str, str], instead: Mapping[str, str]) -> tuple[str, ...]:
    grave = perhaps.get(job.id, "")
    return (instead.get(grave, grave),) if grave else ()


def _for(job: Job, known: Mapping[str, Job], instead: Mapping[str, str]) -> Job:
    """A job that stands in for those which it makes needless, and is called for in their place."""
    light = [known[one] for one, grave in instead.items() if grave == job.id]
    callers = dict.fromkeys(instead.get(one, one) for one in job.needed_by)
    callers.pop(job.id, None)
    gravest = min((job, *light), key=lambda one: CRITICALITIES.index(one.criticality))
    # Why a component should have been looked at is no reason to renew it.
    reasons = [one.reason for one in light if one.task != INSPECT]
    return replace(
        job,
        needed_by=tuple(callers),
        # Nothing safety asks for is settled by what may be left out.
        criticality=job.criticality if job.optional else gravest.criticality,
        reason=joined(job.reason, *reasons),
        tags=tuple(dict.fromkeys((*job.tags, *(tag for one in light for tag in one.tags)))),
    )
