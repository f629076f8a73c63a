"""Which jobs a rule speaks of, and how near to each other they must be."""

from dataclasses import dataclass

from maintenance.planning.jobs import Job, axle_of

#: Told to whoever reads a rule from data: a misspelt key is refused, never dropped.
NO_OTHER_KEYS = {"extra": "forbid"}

ANYWHERE = "anywhere"
SAME_POSITION = "same position"
SAME_AXLE = "same axle"
OTHER_SIDE = "other side"
SCOPES = (ANYWHERE, SAME_POSITION, SAME_AXLE, OTHER_SIDE)
_MIRROR = {"left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class Selector:
    """Which jobs a rule speaks of: every list that is not empty must match.

    Parameters
    ----------
    kinds, tasks, phases, systems, criticalities, tags : tuple of str
        Values of which the job must have one; a job has a tag if it carries any of `tags`.
    without_tags, without_positions : tuple of str
        A job that carries one of these, or is at one of these places, is left out.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    kinds: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    systems: tuple[str, ...] = ()
    criticalities: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    without_tags: tuple[str, ...] = ()
    without_positions: tuple[str, ...] = ()

    def matches(self, job: Job) -> bool:
        """Whether the job is one of those spoken of."""
        if job.position in self.without_positions:
            return False
        wanted = (
            (self.kinds, job.kind),
            (self.tasks, job.task),
            (self.phases, job.phase),
            (self.systems, job.system),
            (self.criticalities, job.criticality),
        )
        if any(values and value not in values for values, value in wanted):
            return False
        carried = set(job.tags)
        return (not self.tags or bool(carried & set(self.tags))) and not (
            carried & set(self.without_tags)
        )


def in_scope(where: str, one: Job, other: Job) -> bool:
    """Whether two jobs are near enough for a rule of the given reach.

    Parameters
    ----------
    where : str
        One of "anywhere", "same position", "same axle", "other side".
    one, other : Job
        The two jobs.

    Returns
    -------
    bool
        A job on the whole axle counts as at each of its positions.

    References
    ----------
    .. [1] Common practice.
    """
    return positions_meet(where, one.position, other.position)


def positions_meet(where: str, one: str, other: str) -> bool:
    """Whether two positions are near enough for a rule of the given reach.

    Parameters
    ----------
    where : str
        One of "anywhere", "same position", "same axle", "other side".
    one, other : str
        Positions such as "front" or "front left".

    Returns
    -------
    bool
        The whole axle meets each of its positions; two places that name no axle are on one only
        where both are sides of the car.

    References
    ----------
    .. [1] Common practice.
    """
    if where == OTHER_SIDE:
        words = one.split(" ")
        return [_MIRROR.get(word, word) for word in words] == other.split(" ") and one != other
    if where == ANYWHERE or one == other:
        return True
    if where == SAME_AXLE:
        return axle_of(one) == axle_of(other) and all(
            axle_of(place) or place.split(" ")[0] in _MIRROR for place in (one, other)
        )
    return axle_of(one) == axle_of(other) and axle_of(one) in (one, other) and bool(axle_of(one))
