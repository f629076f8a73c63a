"""The shape of the trade's rules about jobs; the rules themselves are data.

Every rule carries its reason, which is shown wherever the rule has moved a job, and its source.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from maintenance.planning.build_rules import AccessRule, AssemblyRule, AxleRule, SettlesRule
from maintenance.planning.jobs import Use
from maintenance.planning.selectors import ANYWHERE, NO_OTHER_KEYS, SAME_AXLE, Selector


@dataclass(frozen=True, slots=True)
class PrecedenceRule:
    """One group of jobs comes before another.

    Parameters
    ----------
    name : str
        Name of the rule.
    before, after : Selector
        The jobs that come first, and those that wait for them.
    where : str
        "anywhere", or only between jobs at the "same position" or on the "same axle".
    lag_days : int
        Calendar days to let pass between them [days]; 0 for none, 1 for overnight.
    binds_wishes : bool
        Whether it holds for jobs that may be left out, which else may come afterwards too.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    before: Selector
    after: Selector
    reason: str
    source: str
    where: str = ANYWHERE
    lag_days: int = 0
    binds_wishes: bool = True


@dataclass(frozen=True, slots=True)
class SequenceRule:
    """Jobs of one group follow each other in the order of their positions.

    Parameters
    ----------
    name : str
        Name of the rule.
    jobs : Selector
        The group.
    positions : tuple of str
        The order, first to last, such as the far end of a circuit first.
    one_day : bool
        Whether they are done on one day, where one is long enough.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    jobs: Selector
    positions: tuple[str, ...]
    reason: str
    source: str
    one_day: bool = False


@dataclass(frozen=True, slots=True)
class TogetherRule:
    """A job brings its mates: the other side of the axle, pads with new discs.

    Parameters
    ----------
    name : str
        Name of the rule.
    when : Selector
        The job that calls for its mates.
    adds : tuple of str
        Component kinds that are treated with it, by the same task.
    where : str
        "same position", "same axle" or "other side".
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    when: Selector
    adds: tuple[str, ...]
    reason: str
    source: str
    where: str = SAME_AXLE


@dataclass(frozen=True, slots=True)
class FollowOnRule:
    """A job calls for another that is no due item of its own: bleed, align, road test.

    Parameters
    ----------
    name : str
        Name of the rule.
    when : Selector
        The jobs that call for it.
    kind, task : str
        What is added; its hours and needs are those of the standard job of that name.
    positions : tuple of str
        Where; one job each. ("",) for one job on the whole car.
    other_kinds : tuple of str
        Kinds that serve in its place on other cars; the one that the car has is taken.
    unknown_kind, unknown_reason : str
        What is added where the car has none of them on record, and why nothing nearer can be said.
        Empty where `kind` is added to any car.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    when: Selector
    kind: str
    task: str
    reason: str
    source: str
    positions: tuple[str, ...] = ("",)
    other_kinds: tuple[str, ...] = ()
    unknown_kind: str = ""
    unknown_reason: str = ""


@dataclass(frozen=True, slots=True)
class StandardJob:
    """What a job of one kind and task takes unless the keeper says otherwise.

    Parameters
    ----------
    kind, task : str
        The job; an empty kind stands for every kind without a row of its own.
    hours : float
        Working time [h].
    hands : int
        People needed at the same time [persons].
    alone_hours : float, optional
        Working time of one person alone, by another method [h]; none where there is no such.
    alone_how : str
        That method.
    system, phase : str
        Where it belongs.
    criticality : str
        Used where the job comes from a rule and not from a due item.
    tags, who, cautions, sheet_fields : tuple of str
        As in a job.
    uses : tuple of Use
        Resources held while it lasts.
    in_one_go, immobilises, takes_car : bool
        As in a job.
    stays : bool
        Takes the car where it stands, so that what houses the car is used all the same.
    consumables : tuple of str
        What is used up; priced by the keeper.
    source : str
        Who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    kind: str
    task: str
    hours: float
    source: str
    hands: int = 1
    alone_hours: float | None = None
    alone_how: str = ""
    system: str = ""
    phase: str = ""
    criticality: str = "reliability"
    tags: tuple[str, ...] = ()
    who: tuple[str, ...] = ()
    uses: tuple[Use, ...] = ()
    in_one_go: bool = False
    immobilises: bool = False
    takes_car: bool = False
    stays: bool = False
    consumables: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sheet_fields: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TagRule:
    """What jobs do to the car, in one word for the other rules to speak of.

    Parameters
    ----------
    tag : str
        The word: "opens-hydraulics", "disturbs-geometry", ...
    jobs : Selector
        The jobs that carry it.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    tag: str
    jobs: Selector


@dataclass(frozen=True, slots=True)
class StandardResource:
    """Something that jobs share, and how many of it a small workshop has.

    Parameters
    ----------
    name : str
        As named in the rules.
    capacity : int
        Unless the keeper says otherwise [pieces]; 0 where a workshop has none of its own.
    houses_car : bool
        All work on the standing car is done in it, any number of jobs at a time.
    note, source : str
        What one of it is, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    capacity: int
    note: str
    source: str
    houses_car: bool = False


@dataclass(frozen=True, slots=True)
class JobRules:
    """All the rules about jobs together.

    Parameters
    ----------
    standard_jobs, tags, together, follow_on, access, precedence, sequence, assemblies : tuple
        The rules of each sort, in the order in which they are applied.
    axles, settles : tuple
        Axles by kind; what makes what needless.
    resources : tuple of StandardResource
        What the rules' jobs share.
    systems, cautions : mapping
        System of the car and cautions by component kind.

    References
    ----------
    .. [1] Common practice.
    """

    standard_jobs: tuple[StandardJob, ...] = ()
    together: tuple[TogetherRule, ...] = ()
    follow_on: tuple[FollowOnRule, ...] = ()
    access: tuple[AccessRule, ...] = ()
    precedence: tuple[PrecedenceRule, ...] = ()
    sequence: tuple[SequenceRule, ...] = ()
    assemblies: tuple[AssemblyRule, ...] = ()
    tags: tuple[TagRule, ...] = ()
    resources: tuple[StandardResource, ...] = ()
    axles: tuple[AxleRule, ...] = ()
    settles: tuple[SettlesRule, ...] = ()
    systems: Mapping[str, str] = field(default_factory=dict)
    cautions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def access_with(self, resources: Collection[str]) -> tuple[AccessRule, ...]:
        """Rules of access where a keeper has certain resources."""
        kept = [
            row for row in self.access if not row.with_resource or row.with_resource in resources
        ]
        replaced = {row.in_place_of for row in kept}
        return tuple(row for row in kept if row.name not in replaced)

    def axle(self, kind: str) -> str:
        """Axle of a kind that has but one; empty for the others."""
        return next((row.axle for row in self.axles if kind in row.kinds), "")

    def settled_by(self, task: str) -> frozenset[str]:
        """Tasks that need not be done on a component beside a task."""
        return frozenset(one for row in self.settles if row.task == task for one in row.settles)

    def standard(self, kind: str, task: str) -> StandardJob:
        """Row for a kind and task; else for the task alone; else one hour of one person."""
        for wanted in ((kind, task), ("", task)):
            for row in self.standard_jobs:
                if (row.kind, row.task) == wanted:
                    return row
        return StandardJob(kind, task, 1.0, "common practice")
