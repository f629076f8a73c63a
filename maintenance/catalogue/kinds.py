"""Component kinds, and what ages, warns of and groups them."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from maintenance.catalogue.rows import NO_OTHER_KEYS, Flag, Number


@dataclass(frozen=True, kw_only=True)
class Mechanism:
    """A way in which a standing component ages.

    Parameters
    ----------
    slug : str
        Name in files, such as ``moisture``.
    name : str
        Name in plain English.
    description : str
        What happens in the component.
    factors : mapping of str to Decimal
        Days counted for one laid-up day [days], by storage grade.
    source : str
        Where the factors come from, or "common practice".

    Notes
    -----
    Factors run from 1 to 20: storage never lengthens a limit.

    References
    ----------
    .. [1] Each row carries its own source.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    slug: str
    name: str
    description: str
    # Left out of the hash: a table of names and values has none.
    factors: Mapping[str, Number] = field(hash=False)
    source: str


@dataclass(frozen=True, kw_only=True)
class Caution:
    """A standing caution, shown with every item of the kinds that name it.

    Parameters
    ----------
    slug : str
        Name in files, such as ``asbestos``.
    text : str
        The caution as a person reads it before setting to work.
    source : str
        Where it comes from, or "common practice".

    References
    ----------
    .. [1] Each row carries its own source.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    slug: str
    text: str
    source: str


@dataclass(frozen=True, kw_only=True)
class StorageGrade:
    """A kind of place in which a car stands laid up.

    Parameters
    ----------
    slug : str
        ``heated``, ``dry``, ``damp`` or ``outdoors``.
    name : str
        Name in plain English.
    description : str
        What the place is like.
    corrosivity : str
        Corrosivity category of its air, C1 to CX.
    source : str
        Where the category comes from.

    References
    ----------
    .. [1] ISO 9223:2012, table 1 (categories of corrosivity).
    """

    __pydantic_config__ = NO_OTHER_KEYS

    slug: str
    name: str
    description: str
    corrosivity: str
    source: str


@dataclass(frozen=True, kw_only=True)
class ComponentKind:
    """A kind of component that a car may have in one or more places.

    Parameters
    ----------
    slug : str
        Name in files and over the API: the trade's plain English, singular for a thing of which a
        car has several places, plural for what is fitted as a set.
    name : str
        Name in plain English.
    system : str
        Slug of the system of the car it belongs to, such as ``brakes``.
    mechanisms : tuple of str
        Slugs of the mechanisms by which it ages while the car stands.
    cautions : tuple of str
        Slugs of its standing cautions, the gravest first.
    set_of : bool
        Whether it is fitted and renewed as a set (pads of an axle, plugs of an engine).
    note : str
        What a reader of its rules should know, such as why it has no fixed interval.
    source : str
        Where the statements on the kind come from, or "common practice".
    read_on : date
        The day on which its row and the sources of its rules were read.

    References
    ----------
    .. [1] Each row carries its own source.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    slug: str
    name: str
    system: str
    mechanisms: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    set_of: Flag = False
    note: str = ""
    source: str
    read_on: dt.date
