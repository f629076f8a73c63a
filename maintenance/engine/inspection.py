"""The roadworthiness inspection: when the next one is due, and what a failed one leaves to do."""

from dataclasses import dataclass, fields, replace

import numpy as np

from maintenance.engine.columns import Bools, Findings, Inspections, Ints, Regimes, Vehicles
from maintenance.engine.days import NEVER, NO_DAY, add_months
from maintenance.engine.lay_ups import Standing
from maintenance.engine.resets import MENDING, Effects, last_day


@dataclass(frozen=True)
class Certificate:
    """The next inspection of each car.

    `due` is NEVER where none is due or the day of return is not known; `asked` tells whether the
    car is subject to inspection. `passed` is the row of the latest pass, -1 if there is none;
    `stated` whether the certificate's own expiry was used; `computed` the day before suspension.
    """

    asked: Bools
    due: Ints
    computed: Ints
    passed: Ints
    stated: Bools
    suspended: Bools


def certificate(
    inspections: Inspections, vehicles: Vehicles, regimes: Regimes, stands: Standing, on: int
) -> Certificate:
    """Return the day by which each car's next roadworthiness inspection is due.

    Parameters
    ----------
    inspections : Inspections
        In the order they were made; those after `on` are left out.
    vehicles : Vehicles
        With first registration, build date, the keeper's word and regime.
    regimes : Regimes
        Rules of each jurisdiction.
    stands : Standing
        Timelines of the cars.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    Certificate
        A certificate's own expiry beats the computed day.

    Notes
    -----
    Local law decides; a regime's row carries the day on which it was read.

    References
    ----------
    .. [1] Directive 2014/45/EU, Article 5.
    """
    regimes = _with_no_regime(regimes)
    ruled = (vehicles.regime >= 0) & (vehicles.first_registered != NO_DAY)
    row = vehicles.regime
    passed, expiry, stated = _last_pass(inspections, vehicles, regimes, ruled, on)
    first = add_months(vehicles.first_registered, regimes.first_after_months[row])
    first = np.where(regimes.month_end[row], month_end(first), first)
    computed = np.where(passed >= 0, expiry, np.where(ruled, first, NEVER))
    exempt = ruled & _exempt(vehicles, regimes, row, computed, on)
    asked = (computed != NEVER) & ~exempt
    waits = asked & ruled & regimes.suspended_off_road[row]
    due, suspended = _suspended(computed, waits, stands)
    due = np.where(waits, _in_season(due, vehicles, regimes.month_end[row]), due)
    return Certificate(asked, np.where(asked, due, NEVER), computed, passed, stated, suspended)


def _with_no_regime(regimes: Regimes) -> Regimes:
    """Return the regimes with one at the end that asks nothing, which is where -1 points."""
    size = regimes.name.size
    neutral = {"exempt_after_months": -1, "band_from_months": NEVER, "name": "", "source": ""}
    columns = {}
    for field in fields(regimes):
        column = getattr(regimes, field.name)
        if field.name.startswith("band_"):
            column = column.reshape(size, -1) if size else np.zeros((0, 1), dtype=np.int64)
        row = np.full((1, *column.shape[1:]), neutral.get(field.name, 0), dtype=column.dtype)
        columns[field.name] = np.concatenate([column, row])
    return Regimes(**columns)


def month_end(day: Ints) -> Ints:
    """Return the last day of the month of each day.

    Parameters
    ----------
    day : array of int
        Days [days since 1970-01-01], or NO_DAY and NEVER, which stay.

    Returns
    -------
    array of int
        Days since 1970-01-01 [days].

    References
    ----------
    .. [1] StVZO, Anlage VIII, 2: the period ends with the month.
    """
    known = (day != NO_DAY) & (day != NEVER)
    month = np.where(known, day, 0).astype("datetime64[D]").astype("datetime64[M]")
    last = (month + 1).astype("datetime64[D]").astype(np.int64) - 1
    return np.where(known, last, day)


def _last_pass(
    inspections: Inspections, vehicles: Vehicles, regimes: Regimes, ruled: Bools, on: int
) -> tuple[Ints, Ints, Bools]:
    """Return the latest pass of each car, the day its certificate ends, and whether it says so.

    Passes are followed one after the other, for a test made early may keep the former date.
    """
    cars = vehicles.regime.size
    last = np.full(cars, -1, dtype=np.int64)
    expiry = np.full(cars, NEVER)
    stated = np.zeros(cars, dtype=bool)
    rows = np.flatnonzero(inspections.passed & (inspections.day <= on))
    rows = rows[np.lexsort((rows, inspections.day[rows], inspections.vehicle[rows]))]
    vehicle = inspections.vehicle[rows]
    rank = np.arange(rows.size) - np.searchsorted(vehicle, vehicle)
    for number in range(int(rank.max(initial=-1)) + 1):
        at = rank == number
        row, car = rows[at], vehicle[at]
        own = inspections.expires[row]
        former = _first_kept(expiry[car], car, vehicles, regimes)
        reckoned = _reckoned(inspections.day[row], former, car, vehicles, regimes)
        reckoned = np.where(ruled[car], reckoned, NEVER)
        stated[car] = own != NO_DAY
        expiry[car] = np.where(stated[car], own, reckoned)
        last[car] = row
    return last, expiry, stated


def _reckoned(day: Ints, former: Ints, car: Ints, vehicles: Vehicles, regimes: Regimes) -> Ints:
    """Return the day on which a certificate ends that does not state it."""
    regime = vehicles.regime[car]
    age = _whole_months(vehicles.first_registered[car], day)
    every = _every(regime, age, regimes)
    early = regimes.keeps_date_months[regime]
    keeps = (early > 0) & (former != NEVER) & (day > add_months(former, -early)) & (day <= former)
    ends = add_months(day, every) - regimes.day_before[regime]
    ends = np.where(keeps, add_months(former, every), ends)
    ends = np.where(
        regimes.by_registration[regime], _by_registration(day, car, vehicles, regimes), ends
    )
    return np.where(regimes.month_end[regime], month_end(ends), ends)


def _first_kept(former: Ints, car: Ints, vehicles: Vehicles, regimes: Regimes) -> Ints:
    """Return the former expiry; before any, the first test's day where an early one keeps it.

    A certificate that ends on the day before is reckoned from the day before, or it would run a
    day longer than one made on the day itself.
    """
    regime = vehicles.regime[car]
    first = add_months(vehicles.first_registered[car], regimes.first_after_months[regime])
    first = np.where(regimes.month_end[regime], month_end(first), first)
    first = first - regimes.day_before[regime]
    known = vehicles.first_registered[car] != NO_DAY
    kept = regimes.keeps_first_date[regime] & (former == NEVER) & known
    return np.where(kept, first, former)


def _by_registration(day: Ints, car: Ints, vehicles: Vehicles, regimes: Regimes) -> Ints:
    """Return the first day counted from registration whose window for tests opens after a test."""
    regime, registered = vehicles.regime[car], vehicles.first_registered[car]
    early = regimes.keeps_date_months[regime]
    age = regimes.first_after_months[regime].copy()
    asked = regimes.by_registration[regime] & (registered != NO_DAY)
    while True:
        opens = add_months(add_months(registered, age), -early)
        late = asked & (opens < day)
        if not late.any():
            return add_months(registered, age)
        age = age + np.where(late, _every(regime, age, regimes), 0)


def _every(regime: Ints, age: Ints, regimes: Regimes) -> Ints:
    """Return the months from one test to the next of a car of some age in months."""
    band = (regimes.band_from_months[regime] <= age[:, None]).sum(axis=1) - 1
    every: Ints = regimes.band_every_months[regime, np.maximum(band, 0)]
    return every


def _whole_months(start: Ints, day: Ints) -> Ints:
    known = start != NO_DAY
    began = np.where(known, start, day)
    months = day.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    months = months - began.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    return np.where(add_months(began, months) > day, months - 1, months)


def _exempt(vehicles: Vehicles, regimes: Regimes, row: Ints, computed: Ints, on: int) -> Bools:
    months = regimes.exempt_after_months[row]
    known = (months >= 0) & vehicles.unchanged & (vehicles.built != NO_DAY)
    from_day = add_months(vehicles.first_registered, np.maximum(months, 0))
    exempt: Bools = known & ((from_day <= on) | (from_day <= computed))
    return exempt


def _suspended(computed: Ints, waits: Bools, stands: Standing) -> tuple[Ints, Bools]:
    due = computed.copy()
    suspended = np.zeros(computed.size, dtype=bool)
    for k in range(stands.start.shape[1]):
        inside = waits & (stands.period_start[:, k] <= computed)
        inside &= computed < stands.period_end[:, k]
        due = np.where(inside, stands.period_end[:, k], due)
        suspended |= inside
    return due, suspended


def _in_season(due: Ints, vehicles: Vehicles, ends_with_month: Bools) -> Ints:
    """Move a day outside the season of a seasonal plate into the first month of the next one."""
    known = (due != NEVER) & (due != NO_DAY) & (vehicles.season_from > 0)
    month = np.where(known, due, 0).astype("datetime64[D]").astype("datetime64[M]")
    number = month.astype(np.int64) % 12 + 1
    first, last = vehicles.season_from, vehicles.season_to
    inside = np.where(
        first <= last, (first <= number) & (number <= last), (first <= number) | (number <= last)
    )
    ahead = (first - number) % 12
    opening = (month + ahead).astype("datetime64[D]").astype(np.int64)
    opening = np.where(ends_with_month, month_end(opening), opening)
    return np.where(known & ~inside, opening, due)


def as_failed(inspections: Inspections, findings: Findings) -> Inspections:
    """Return the inspections with every one failed that found something major or dangerous.

    Without this one wrong word, `pass` beside a leaking brake hose, would make nothing due, clear
    the findings before it and let a certificate begin.

    Parameters
    ----------
    inspections : Inspections
        As they are on record.
    findings : Findings
        Major and dangerous findings, whatever the result on record.

    Returns
    -------
    Inspections
        In the same order.

    References
    ----------
    .. [1] Directive 2014/45/EU, Article 9 (from memory): with major or dangerous deficiencies the
       test is deemed to have been failed.
    """
    passed = inspections.passed.copy()
    passed[findings.inspection] = False
    return replace(inspections, passed=passed)


def open_findings(
    findings: Findings, inspections: Inspections, done: Effects, cars: int, on: int
) -> Ints:
    """Return the rows of the findings that are still to be put right on a day.

    Parameters
    ----------
    findings : Findings
        Major and dangerous findings.
    inspections : Inspections
        With the passes that clear findings before them.
    done : Effects
        What was done to each component by `on`.
    cars : int
        Number of cars in the batch.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    array of int
        Rows of `findings` made by `on` and neither mended nor passed since.

    References
    ----------
    .. [1] Directive 2014/45/EU, Articles 7 and 9: major and dangerous deficiencies are put right
       before the car passes.
    """
    passes = inspections.passed & (inspections.day <= on)
    last_pass = np.full(cars, NO_DAY)
    np.maximum.at(last_pass, inspections.vehicle[passes], inspections.day[passes])
    mended = last_day(done, MENDING[done.action], findings.component)
    return np.flatnonzero(
        (findings.day <= on)
        & (last_pass[findings.vehicle] < findings.day)
        & (mended < findings.day)
    )
