"""An interval rule: what is to be done to a kind of component, and how often."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from maintenance.catalogue.rows import NO_OTHER_KEYS, Flag, Number, Whole

#: Whether a rule runs always, or only while the car is laid up (storage care).
APPLIES: tuple[str, ...] = ("always", "laid_up")
#: What measured wear may be set against.
WEAR_AGAINST: tuple[str, ...] = ("distance", "aged_days")


@dataclass(frozen=True, kw_only=True)
class LayUpTerms:
    """How standing counts against a rule.

    Parameters
    ----------
    factors : mapping of str to Decimal
        For each of the four storage grades, how many days [days] one laid-up day counts; at least
        1, at most two decimals.
    km_per_month : Decimal
        Penalty distance [km] for each month of standing.

    Notes
    -----
    Valid for factors from 1 to 20 and a penalty distance from 0 to 10 000 km a month.

    References
    ----------
    .. [1] Common practice, unless the rule's own source says otherwise.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    # Left out of the hash: a table of names and values has none.
    factors: Mapping[str, Number] = field(hash=False)
    km_per_month: Number = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class WearLimit:
    """The measured value at which a component is worn out.

    Parameters
    ----------
    quantity : str
        Slug of the measured quantity, such as ``lining_thickness``.
    unit : str
        The quantity's unit, such as ``mm``.
    new : Decimal or None
        Value when new, where it is known, in ``unit``.
    minimum, maximum : Decimal or None
        The limit, in ``unit``; exactly one of the two. A value exactly at it is at the limit.
    against : str
        What the value changes with: ``distance`` or ``aged_days``.

    References
    ----------
    .. [1] The rule's own source; the maker's figure goes before a general one.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    quantity: str
    unit: str
    new: Number | None = None
    minimum: Number | None = None
    maximum: Number | None = None
    against: str = "distance"


@dataclass(frozen=True, kw_only=True)
class IntervalRule:
    """What is to be done to a kind of component, how often, and who says so.

    Parameters
    ----------
    name : str
        Name in plain English, such as "brake fluid renewal".
    kind : str
        Slug of the component kind.
    task : str
        One of :data:`maintenance.engine.columns.TASKS`.
    months : int or None
        Time limit in calendar months.
    distance_km : Decimal or None
        Distance limit [km].
    lay_up : LayUpTerms
        How standing counts.
    before_use_after_months : int or None
        Months of standing after which the task is due before the car is used again.
    applies : str
        ``always``, or ``laid_up`` for storage care.
    wear : WearLimit or None
        Limit of measured wear.
    counts_shelf_age : bool
        Whether the clock starts when the part was made.
    warn_days : int
        How long before the due day the item is said to fall due [days].
    warn_distance_km : Decimal
        How far before the due distance the item is said to fall due [km].
    criticality : str
        ``safety``, ``reliability`` or ``appearance``.
    source : str
        Standard and clause, handbook and page, or "common practice".

    Notes
    -----
    Whether the values make sense together is told by
    :func:`maintenance.catalogue.rule_checks.rule_problems`.

    References
    ----------
    .. [1] Each rule carries its own source.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    name: str
    kind: str
    task: str
    months: Whole | None = None
    distance_km: Number | None = None
    lay_up: LayUpTerms
    before_use_after_months: Whole | None = None
    applies: str = "always"
    wear: WearLimit | None = None
    counts_shelf_age: Flag = False
    warn_days: Whole = 30
    warn_distance_km: Number = Decimal(500)
    criticality: str
    source: str
