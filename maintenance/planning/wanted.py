"""What is asked of a car, before the rules of the trade turn it into jobs, and what they make."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from maintenance.planning.jobs import RELIABILITY, Consumable, Hold, Job, Part
from maintenance.planning.order import Prerequisite

#: Parts that can be bought for a component kind at a position.
Offers = Mapping[tuple[str, str], tuple[Part, ...]]


@dataclass(frozen=True, slots=True)
class Fitted:
    """A component that the car has.

    Parameters
    ----------
    component, kind, position : str
        Its identity, kind and place.
    assembly : str
        Identity of the component that it is a part of; empty for none.
    measured : tuple of str
        What is measured when it is inspected, with unit and limit, as written on a job sheet.

    References
    ----------
    .. [1] Common practice.
    """

    component: str
    kind: str
    position: str = ""
    assembly: str = ""
    measured: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Workshop:
    """With whom and what the work is done, as far as it says how.

    Parameters
    ----------
    people_at_once : int, optional
        Most people there at one time [persons]; none where there are enough for anything.
    resources : frozenset of str
        Names of what the keeper has or hires.
    used_for : mapping of str to tuple of str
        By name of a resource the component kinds whose jobs need it.

    References
    ----------
    .. [1] Common practice.
    """

    people_at_once: int | None = None
    resources: frozenset[str] = frozenset()
    used_for: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something that a due item, a finding, a first use or the keeper asks for.

    Parameters
    ----------
    kind, position, task : str
        What is to be done.
    component : str
        Identity of the component.
    criticality : str
        "safety", "reliability" or "appearance".
    reason : str
        Why, as shown with the job.
    hours : float, optional
        Keeper's own estimate [h]; else the standard job's.
    parts : tuple of Part
        Keeper's choice; else the offers for the kind and position.
    consumables : tuple of Consumable
        What is used up; else the standard job's, at no cost.
    cost : int
        Other outlay [minor units].
    who : tuple of str
        Who may do it; else the standard job's.
    optional : bool
        May be left out.
    value : int, optional
        As in a job.
    tags, clears : tuple of str
        As in a job.

    References
    ----------
    .. [1] Common practice.
    """

    kind: str
    position: str
    task: str
    component: str = ""
    criticality: str = RELIABILITY
    reason: str = ""
    hours: float | None = None
    parts: tuple[Part, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    cost: int = 0
    who: tuple[str, ...] = ()
    optional: bool = False
    value: int | None = None
    tags: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Expansion:
    """The jobs of a plan, with what came of sharing access.

    Parameters
    ----------
    jobs : tuple of Job
        All jobs.
    steps : tuple of Prerequisite
        Opening before, closing after the jobs behind it.
    holds : tuple of Hold
        Resources kept while the access is open.

    References
    ----------
    .. [1] Common practice.
    """

    jobs: tuple[Job, ...]
    steps: tuple[Prerequisite, ...]
    holds: tuple[Hold, ...]
