"""From what is wanted to the jobs of a plan: mates, follow-on work and shared access.

Each job that a rule adds says which rule and why.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from maintenance.planning.assemblies import RENEW, is_piece
from maintenance.planning.build_rules import AccessRule
from maintenance.planning.jobs import (
    CRITICALITIES,
    Consumable,
    Hold,
    Job,
    Use,
    axle_of,
    by_id,
    joined,
    must_be_done,
)
from maintenance.planning.order import Prerequisite
from maintenance.planning.rules import FollowOnRule, JobRules, StandardJob, TogetherRule
from maintenance.planning.selectors import SAME_AXLE, SAME_POSITION, positions_meet
from maintenance.planning.settling import settled
from maintenance.planning.wanted import Expansion, Fitted, Offers, Wanted, Workshop


@dataclass(slots=True)
class _Work:
    """Jobs by kind, task and position while the rules are applied."""

    rules: JobRules
    fitted: Sequence[Fitted]
    offers: Offers
    workshop: Workshop
    jobs: dict[tuple[str, str, str], Job] = field(default_factory=dict)

    def add(self, job: Job) -> None:
        self.jobs[job.kind, job.task, job.position] = job


def jobs_for(
    wanted: Sequence[Wanted],
    rules: JobRules,
    fitted: Sequence[Fitted] = (),
    offers: Offers | None = None,
    finished: Collection[str] = (),
    workshop: Workshop | None = None,
) -> Expansion:
    """Turn what is wanted into all the jobs that it takes.

    Parameters
    ----------
    wanted : sequence of Wanted
        Due items, findings and wishes; the same job asked for twice is done once.
    rules : JobRules
        Rules of the trade.
    fitted : sequence of Fitted
        Components of the car; a mate is added only where the car has it.
    offers : mapping of (kind, position) to tuple of Part, optional
        Parts for jobs that name none.
    finished : collection of str
        Ids of jobs that are done; they make nothing needless that is asked for now.
    workshop : Workshop, optional
        With whom and what the work is done; else with enough hands and the usual things.

    Returns
    -------
    Expansion
        Jobs, and the prerequisites and holds of shared access.

    References
    ----------
    .. [1] Common practice.
    """
    work = _Work(rules, fitted, offers or {}, workshop or Workshop())
    for item in wanted:
        _add_wanted(work, item)
    while _add_mates(work):
        pass
    while _add_follow_on(work):
        pass
    _clear_pieces(work, finished)
    steps: list[Prerequisite] = []
    holds: list[Hold] = []
    for rule in rules.access_with(work.workshop.resources):
        _add_access(work, rule, steps, holds)
    made = Expansion(tuple(work.jobs.values()), tuple(steps), tuple(holds))
    return settled(made, rules, finished)


def _add_wanted(work: _Work, item: Wanted) -> None:
    key = (item.kind, item.task, item.position)
    job = _job(work, item)
    earlier = work.jobs.get(key)
    if earlier is not None:
        job = _merged(earlier, job)
    work.add(job)


def _merged(one: Job, other: Job) -> Job:
    """One job asked for twice: the graver demand counts, both reasons are kept."""
    graver = min(one, other, key=lambda job: CRITICALITIES.index(job.criticality))
    return replace(
        one,
        criticality=graver.criticality,
        optional=one.optional and other.optional,
        reason=joined(one.reason, other.reason),
        parts=one.parts or other.parts,
        tags=tuple(dict.fromkeys(one.tags + other.tags)),
        clears=tuple(dict.fromkeys(one.clears + other.clears)),
    )


def _job(work: _Work, item: Wanted) -> Job:
    row = work.rules.standard(item.kind, item.task)
    offered = work.offers.get((item.kind, item.position), ()) if item.task == "renew" else ()
    cautions = dict.fromkeys((*work.rules.cautions.get(item.kind, ()), *row.cautions))
    hands, hours, how = _manned(work, row)
    job = Job(
        id=" ".join(w for w in (item.task, item.kind, item.position) if w),
        component=item.component,
        kind=item.kind,
        position=item.position,
        task=item.task,
        hours=hours if item.hours is None else item.hours,
        system=row.system or work.rules.systems.get(item.kind, ""),
        phase=row.phase,
        criticality=item.criticality,
        parts=item.parts or offered,
        consumables=item.consumables or tuple(Consumable(name) for name in row.consumables),
        cost=item.cost,
        who=item.who or row.who,
        hands=hands,
        uses=_uses(work, item, row),
        optional=item.optional,
        value=item.value,
        in_one_go=row.in_one_go,
        immobilises=row.immobilises,
        takes_car=row.takes_car,
        clears=item.clears,
        tags=tuple(dict.fromkeys((*item.tags, *row.tags))),
        cautions=tuple(cautions),
        sheet_fields=(*row.sheet_fields, *_measured(work, item)),
        reason=joined(item.reason, how),
    )
    found = [rule.tag for rule in work.rules.tags if rule.jobs.matches(job)]
    return replace(job, tags=tuple(dict.fromkeys((*job.tags, *found))))


def _manned(work: _Work, row: StandardJob) -> tuple[int, float, str]:
    """Hands and hours of a job; one person alone does it by another method where there is one."""
    there = work.workshop.people_at_once
    if there is None or row.hands <= there or row.alone_hours is None:
        return row.hands, row.hours, ""
    return 1, row.alone_hours, f"one person alone: {row.alone_how}"


def _uses(work: _Work, item: Wanted, row: StandardJob) -> tuple[Use, ...]:
    """What the job takes by the rules, what houses the car, and what the keeper has for it."""
    shop = work.workshop
    housing = [
        one.name for one in work.rules.resources if one.houses_car and one.name in shop.resources
    ]
    named = [name for name, kinds in shop.used_for.items() if item.kind in kinds]
    taken = {use.resource for use in row.uses}
    more = [
        name for name in dict.fromkeys(([] if row.takes_car and not row.stays else housing) + named)
    ]
    return (*row.uses, *(Use(name) for name in more if name not in taken))


def _measured(work: _Work, item: Wanted) -> tuple[str, ...]:
    if item.task != "inspect":
        return ()
    place = (item.kind, item.position)
    return next((f.measured for f in work.fitted if (f.kind, f.position) == place), ())


def _added(work: _Work, key: tuple[str, str, str], criticality: str, reason: str) -> Job:
    """Job that a rule adds: on a fitted component where the car has it."""
    kind, task, position = key
    there = [f.component for f in work.fitted if (f.kind, f.position) == (kind, position)]
    component = there[0] if there else ""
    return _job(work, Wanted(kind, position, task, component, criticality, reason))


def _add_mates(work: _Work) -> bool:
    """Add the mates of the jobs at hand; true if any was added."""
    before = dict(work.jobs)
    for rule in work.rules.together:
        for job in before.values():
            if rule.when.matches(job):
                for mate in _mates(work, rule, job):
                    _need(work, (mate.kind, job.task, mate.position), job, rule.reason, before)
    return len(work.jobs) > len(before)


def _mates(work: _Work, rule: TogetherRule, job: Job) -> Iterable[Fitted]:
    return [
        item
        for item in work.fitted
        if item.kind in rule.adds
        and positions_meet(rule.where, job.position, item.position)
        and (item.kind, item.position) != (job.kind, job.position)
    ]


def _need(
    work: _Work,
    key: tuple[str, str, str],
    caller: Job,
    reason: str,
    before: Mapping[tuple[str, str, str], Job],
) -> None:
    """Let a job call for another, which is added unless it is wanted on its own account."""
    if key in before:
        _make_sure(work, before[key], [caller])
        return
    job = work.jobs.get(key) or _added(work, key, caller.criticality, reason)
    callers = dict.fromkeys((*job.needed_by, caller.id))
    graver = min(job, caller, key=lambda one: CRITICALITIES.index(one.criticality))
    work.add(replace(job, needed_by=tuple(callers), criticality=graver.criticality))


def _make_sure(work: _Work, job: Job, callers: Iterable[Job]) -> None:
    """A wish that a job which must be done can't do without is no mere wish."""
    known = by_id(work.jobs.values())
    if job.optional and any(must_be_done(caller, known) for caller in callers):
        work.add(replace(job, optional=False))


def _add_follow_on(work: _Work) -> bool:
    """Add the work that jobs call for; true if a job or a caller is new."""
    before = dict(work.jobs)
    for rule in work.rules.follow_on:
        callers = [job for job in work.jobs.values() if rule.when.matches(job)]
        for position in rule.positions if callers else ():
            _follow(work, rule, position, callers)
    return work.jobs != before


def _served(work: _Work, rule: FollowOnRule) -> tuple[str, str]:
    """Kind that the car has of those a rule speaks of, and why it is added."""
    kinds = (rule.kind, *rule.other_kinds)
    there = {item.kind for item in work.fitted}
    found = next((kind for kind in kinds if kind in there), "")
    if found or not rule.unknown_kind:
        return found or rule.kind, rule.reason
    return rule.unknown_kind, f"{rule.reason}; {rule.unknown_reason}"


def _follow(work: _Work, rule: FollowOnRule, position: str, callers: Sequence[Job]) -> None:
    kind, reason = _served(work, rule)
    key = (kind, rule.task, position)
    present = work.jobs.get(key)
    if present is not None and not present.needed_by:
        _make_sure(work, present, callers)
        return
    row = work.rules.standard(kind, rule.task)
    job = present or _added(work, key, row.criticality, reason)
    ids = [caller.id for caller in callers if caller.id != job.id]
    work.add(replace(job, needed_by=tuple(dict.fromkeys((*job.needed_by, *ids)))))


def _clear_pieces(work: _Work, finished: Collection[str]) -> None:
    """Let a new assembly, whoever called for it, settle the work on what comes new with it."""
    for rule in work.rules.assemblies:
        for job in list(work.jobs.values()):
            if (job.kind, job.task) == (rule.assembly, RENEW) and job.id not in finished:
                pieces = [
                    one.component
                    for one in work.jobs.values()
                    if one.component and is_piece(one, rule, job.position, work.fitted)
                ]
                work.add(replace(job, clears=tuple(dict.fromkeys((*job.clears, *pieces)))))


def _add_access(
    work: _Work, rule: AccessRule, steps: list[Prerequisite], holds: list[Hold]
) -> None:
    places: dict[str, list[Job]] = {}
    for job in work.jobs.values():
        if rule.jobs.matches(job):
            places.setdefault(_place(work.rules, rule, job), []).append(job)
    for place, jobs in places.items():
        opener = _door(work, (rule.open_kind, rule.open_task, place), rule, jobs)
        closer = _door(work, (rule.close_kind, rule.close_task, place), rule, jobs)
        steps.append(Prerequisite(opener.id, closer.id, rule.reason, rule.source))
        for job in jobs:
            if job.id not in (opener.id, closer.id):
                steps.append(Prerequisite(opener.id, job.id, rule.reason, rule.source))
                steps.append(Prerequisite(job.id, closer.id, rule.reason, rule.source))
        if rule.uses or rule.immobilises:
            name = f"{rule.name} {place}".strip()
            ends = (opener.id, closer.id)
            holds.append(Hold(name, *ends, rule.uses, rule.immobilises, rule.unrecorded))


def _place(rules: JobRules, rule: AccessRule, job: Job) -> str:
    if rule.where == SAME_POSITION:
        return job.position
    if rule.where == SAME_AXLE:
        return axle_of(job.position) or rules.axle(job.kind) or rule.unnamed
    return ""


def _door(work: _Work, key: tuple[str, str, str], rule: AccessRule, jobs: Sequence[Job]) -> Job:
    """Job that gives or ends the access; one that is wanted anyway serves for it."""
    present = work.jobs.get(key)
    if present is not None and not present.needed_by and not present.optional:
        return present
    gravest = min((job.criticality for job in jobs), key=CRITICALITIES.index)
    job = present or _added(work, key, gravest, rule.reason)
    ids = [other.id for other in jobs if other.id != job.id]
    job = replace(job, optional=False, needed_by=tuple(dict.fromkeys((*job.needed_by, *ids))))
    work.add(job)
    return job
