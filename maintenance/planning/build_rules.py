"""The shape of the rules about a car's build: what lies behind what, and what is part of what."""

from dataclasses import dataclass

from maintenance.planning.jobs import Use
from maintenance.planning.selectors import NO_OTHER_KEYS, Selector


@dataclass(frozen=True, slots=True)
class AccessRule:
    """Jobs behind the same obstacle share its removal: wheel off, coolant drained.

    Parameters
    ----------
    name : str
        Name of what is shared: "wheel off", "axle raised", "coolant drained".
    jobs : Selector
        The jobs that need it.
    where : str
        One for each "same position", for each "same axle" or for the whole car ("anywhere").
    open_kind, open_task, close_kind, close_task : str
        The standard jobs that give and end the access.
    uses : tuple of Use
        Resources kept from the first to the second.
    immobilises : bool
        The car can't be moved between them.
    unnamed : str
        Place of jobs of which neither position nor kind names the axle.
    with_resource : str
        Resource with which it is done this way: only where the keeper has or hires one.
    in_place_of : str
        Name of the rule that this one then takes the place of.
    unrecorded : bool
        Nobody writes down the opening and the closing by themselves: with the work between them
        done they are done.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    jobs: Selector
    where: str
    open_kind: str
    open_task: str
    close_kind: str
    close_task: str
    reason: str
    source: str
    uses: tuple[Use, ...] = ()
    immobilises: bool = False
    with_resource: str = ""
    in_place_of: str = ""
    unnamed: str = ""
    unrecorded: bool = False


@dataclass(frozen=True, slots=True)
class AssemblyRule:
    """An assembly brings new pieces with it.

    Parameters
    ----------
    assembly : str
        Kind of the assembly.
    brings : tuple of str
        Kinds of the pieces that come new with it: those on record as its parts, else those at the
        same position.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    assembly: str
    brings: tuple[str, ...]
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class AxleRule:
    """Kinds whose axle goes without saying, so that positions need not name it.

    Parameters
    ----------
    kinds : tuple of str
        The kinds.
    axle : str
        Their axle: "front", "rear", or "driven" where that depends on the car.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    kinds: tuple[str, ...]
    axle: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class SettlesRule:
    """Graver work on a component makes lighter work on it needless.

    Parameters
    ----------
    task : str
        The graver work.
    settles : tuple of str
        Tasks that need not be done beside it.
    reason, source : str
        Why, and who says so.

    References
    ----------
    .. [1] Common practice.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    task: str
    settles: tuple[str, ...]
    reason: str
    source: str
