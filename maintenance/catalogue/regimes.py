"""Roadworthiness inspection regimes: what the law of one country asks of a private car."""

import datetime as dt
from dataclasses import dataclass, fields
from itertools import pairwise

from maintenance.catalogue.rows import NO_OTHER_KEYS, Flag, Problem, Whole
from maintenance.catalogue.words import unknown

#: How the next due day follows from a test: the same day of the month (``anniversary``), the day
#: before it (``day_before``), or the last day of that month (``month_end``).
CERTIFICATE_ENDS: tuple[str, ...] = ("anniversary", "day_before", "month_end")
DATES_KEPT: tuple[str, ...] = ("first_due", "registration")
#: How a fact came to be in the file: the law was read; a page that cites it; from memory.
BASES: tuple[str, ...] = ("read", "cited", "memory")


@dataclass(frozen=True, kw_only=True)
class InspectionBand:
    """How often inspection recurs from a certain age on.

    Parameters
    ----------
    from_age_months : int
        Age since first registration [months] from which the band holds.
    every_months : int
        Months from one inspection to the next.

    References
    ----------
    .. [1] The sources of the regime that holds the band.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    from_age_months: Whole
    every_months: Whole


@dataclass(frozen=True, kw_only=True)
class RegimeSource:
    """Where some of a regime's facts come from.

    Parameters
    ----------
    of : tuple of str
        Names of the regime's fields it vouches for.
    text : str
        Law and clause.
    basis : str
        ``read``, ``cited`` or ``memory``.
    read_on : date
        The day it was read or remembered.

    References
    ----------
    .. [1] The source named in ``text``.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    of: tuple[str, ...]
    text: str
    basis: str
    read_on: dt.date


@dataclass(frozen=True, kw_only=True)
class InspectionRegime:
    """The inspection intervals of one country for a private car.

    Parameters
    ----------
    code : str
        Name in files, such as ``gb``.
    name : str
        Name in plain English.
    first_after_months : int
        Months from first registration to the first inspection.
    bands : tuple of InspectionBand
        Intervals by age, the youngest first; the first begins at ``first_after_months``.
    certificate_end : str
        ``anniversary``, ``day_before`` or ``month_end``.
    keeps_date_months_early : int
        A test on or after the day that lies so many months before the expiry, and one day more,
        keeps the date: the new period counts from the old expiry. 0 where it never does.
    date_kept : str or None
        Which date beside a certificate's an early test keeps: that of the first test too
        (``first_due``), or the days counted from first registration, which a late test does not
        move either (``registration``).
    suspended_off_road : bool
        Whether a test that falls due while the car is laid up waits for its return.
    exempt_after_months : int or None
        Months from first registration after which a car is exempt, where the law says so.
    exempt_unchanged_months : int or None
        An exemption holds only for a car not substantially changed within so many months.
    note : str
        For which cars the regime holds, and what it leaves out.
    sources : tuple of RegimeSource
        Where each fact comes from.

    Notes
    -----
    An exemption needs the build date and the keeper's word that the car is not substantially
    changed; without either there is none. Laws change: the law in force at the place goes first.

    References
    ----------
    .. [1] The sources of each regime.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    code: str
    name: str
    first_after_months: Whole
    bands: tuple[InspectionBand, ...]
    certificate_end: str
    keeps_date_months_early: Whole
    date_kept: str | None = None
    suspended_off_road: Flag
    exempt_after_months: Whole | None = None
    exempt_unchanged_months: Whole | None = None
    note: str
    sources: tuple[RegimeSource, ...]

    @property
    def source(self) -> str:
        """All its sources in one text, each with how and when it was read, for the working.

        References
        ----------
        .. [1] The sources of the regime.
        """
        return "; ".join(
            f"{source.text} ({source.basis} {source.read_on.isoformat()})"
            for source in self.sources
        )


def regime_problems(regime: InspectionRegime) -> list[Problem]:
    """Return every problem of a regime, each with its field and its remedy.

    Parameters
    ----------
    regime : InspectionRegime
        The regime to check; all its periods are in months.

    Returns
    -------
    list of Problem
        Empty where the regime is in order.

    References
    ----------
    .. [1] Common practice.
    """
    return [*_period_problems(regime), *_band_problems(regime), *_source_problems(regime)]


def _period_problems(regime: InspectionRegime) -> list[Problem]:
    problems = []
    if regime.certificate_end not in CERTIFICATE_ENDS:
        message = unknown("certificate end", regime.certificate_end, CERTIFICATE_ENDS)
        problems.append(Problem("certificate_end", message))
    if regime.date_kept is not None and regime.date_kept not in DATES_KEPT:
        message = unknown("date kept", regime.date_kept, DATES_KEPT)
        problems.append(Problem("date_kept", message))
    for name in ("first_after_months", "exempt_after_months", "exempt_unchanged_months"):
        value = getattr(regime, name)
        if value is not None and value < 1:
            problems.append(Problem(name, f"{value} is not a number of months above 0"))
    shortest = min((band.every_months for band in regime.bands), default=None)
    if shortest is not None and not 0 <= regime.keeps_date_months_early < shortest:
        message = f"must be from 0 to less than the shortest interval of {shortest} months"
        problems.append(Problem("keeps_date_months_early", message))
    return problems


def _band_problems(regime: InspectionRegime) -> list[Problem]:
    if not regime.bands:
        return [Problem("bands", "is empty; give at least one band")]
    problems = [
        Problem(f"bands/{index}/every_months", "must be above 0")
        for index, band in enumerate(regime.bands)
        if band.every_months < 1
    ]
    if regime.bands[0].from_age_months != regime.first_after_months:
        problems.append(
            Problem(
                "bands/0/from_age_months",
                f"must be the first_after_months of {regime.first_after_months}",
            )
        )
    for index, (younger, older) in enumerate(pairwise(regime.bands), start=1):
        if older.from_age_months <= younger.from_age_months:
            message = "must be above that of the band before it; put the youngest first"
            problems.append(Problem(f"bands/{index}/from_age_months", message))
    return problems


def _source_problems(regime: InspectionRegime) -> list[Problem]:
    facts = {field.name for field in fields(regime)} - {"code", "name", "note", "sources"}
    stated = {name for name in facts if getattr(regime, name) is not None}
    problems = []
    vouched: set[str] = set()
    for index, source in enumerate(regime.sources):
        vouched.update(source.of)
        for name in sorted(set(source.of) - facts):
            problems.append(Problem(f"sources/{index}/of", unknown("field", name, facts)))
        if source.basis not in BASES:
            message = unknown("basis", source.basis, BASES)
            problems.append(Problem(f"sources/{index}/basis", message))
        if not source.text.strip():
            problems.append(Problem(f"sources/{index}/text", "is empty; name law and clause"))
    for name in sorted(stated - vouched):
        problems.append(Problem(name, "has no source; name it in the 'of' of one"))
    return problems
