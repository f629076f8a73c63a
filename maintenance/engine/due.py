"""Due items: the criteria of every rule, inspection, finding and paper, combined."""

from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np

from maintenance.engine.by_distance import ByDistance, by_distance
from maintenance.engine.by_time import ByTime, by_time
from maintenance.engine.by_wear import ByWear, by_wear
from maintenance.engine.columns import CRITERIA, Batch, Bools, Ints
from maintenance.engine.context import Context, context
from maintenance.engine.days import NEVER, NO_DAY
from maintenance.engine.first_use import FirstUse, first_use
from maintenance.engine.forecast import Forecast
from maintenance.engine.inspection import Certificate, as_failed, certificate, open_findings
from maintenance.engine.papers import papers_in_force
from maintenance.engine.resets import emptied_on
from maintenance.engine.status import Standings, governing, order_days, status_on

RULE: Final = 0
INSPECTION: Final = 1
FINDING: Final = 2
PAPER: Final = 3
WARN_DAYS: Final = 30
"""Warning before an inspection or a paper runs out, as for rules (common practice)."""
SAFETY: Final = 0

_CRITERION: Final = {name: number for number, name in enumerate(CRITERIA)}
_DATED: Final = len(CRITERIA) - 1
"""The last criterion, no_record, never has a date."""


@dataclass(frozen=True)
class ByRule:
    """The criteria of every (component, rule) pair asked about, in the order of the batch."""

    time: ByTime
    distance: ByDistance
    wear: ByWear
    first_use: FirstUse


@dataclass(frozen=True)
class Answer:
    """Due items, in the order of the due list.

    `origin` says what an item comes from (RULE, INSPECTION, FINDING or PAPER) and `row` which row
    of the batch's items, vehicles, findings or papers. `days`, `early` and `late` have one column
    for each dated criterion; NEVER where it has no date. `by_rule` and `certificate` hold what
    the working shows. `shelved` marks the items of parts on a shelf: they belong to a car, and go
    nowhere with it.
    """

    shared: Context
    by_rule: ByRule
    certificate: Certificate
    origin: Ints
    row: Ints
    vehicle: Ints
    component: Ints
    criticality: Ints
    has_criterion: Bools
    days: Ints
    early: Ints
    late: Ints
    due: Ints
    earliest: Ints
    latest: Ints
    governed_by: Ints
    status: Ints
    order_day: Ints
    shown: Ints
    standings: Standings
    shelved: Bools


def due_items(batch: Batch, *, on: int, planned: Forecast | None = None) -> Answer:
    """Return what falls due on the cars of a batch, and when, as known on a day.

    Parameters
    ----------
    batch : Batch
        What is on record about some cars, and the rules asked of their components.
    on : int
        Day asked about [days since 1970-01-01].
    planned : Forecast or None
        Rates of a plan for the same cars, which go before those that the records tell.

    Returns
    -------
    Answer
        Sorted by criticality, due day and component; an item without record comes first, one
        without a date last.

    Notes
    -----
    No answer says that a car is fit to be driven: an item that is in date is only not yet due.

    References
    ----------
    .. [1] Common practice: whichever comes first.
    """
    batch = replace(batch, inspections=as_failed(batch.inspections, batch.findings))
    shared = context(batch, on, planned)
    vehicles = shared.batch.vehicles
    certificates = certificate(batch.inspections, vehicles, batch.regimes, shared.stands, on)
    by_rule = _by_rule(shared)
    part = _joined(
        [
            _rule_items(shared, by_rule),
            _inspections(shared, certificates),
            _findings(shared),
            _papers(shared),
        ]
    )
    return _answer(shared, by_rule, certificates, part)


def _by_rule(shared: Context) -> ByRule:
    batch, rule = shared.batch, shared.batch.items.rule
    time = by_time(shared)
    return ByRule(
        time=time,
        distance=by_distance(shared, np.where(
            batch.rules.laid_up_only[rule], NO_DAY, time.clock.start)),
        wear=by_wear(shared),
        first_use=first_use(
            shared.stands,
            time.clock.vehicle,
            np.where(batch.rules.laid_up_only[rule], NO_DAY, time.clock.start),
            batch.rules.first_use_months[rule],
            shared.on,
        ),
    )  # fmt: skip


@dataclass(frozen=True)
class _Part:
    """Items of one origin, before they are sorted in with the others."""

    origin: Ints
    row: Ints
    vehicle: Ints
    timeline: Ints
    component: Ints
    criticality: Ints
    warn_days: Ints
    has_criterion: Bools
    days: Ints
    early: Ints
    late: Ints
    no_record: Bools
    unmeasured: Bools
    storage_care: Bools
    warn_day: Ints
    distance_day: Ints
    before_use_from: Ints
    shown: Ints


def _rule_items(shared: Context, by_rule: ByRule) -> _Part:
    rules, rule = shared.batch.rules, shared.batch.items.rule
    component = shared.batch.items.component
    time, wear = by_rule.time, by_rule.wear
    storage_care = rules.laid_up_only[rule]
    has = np.zeros((rule.size, _DATED), dtype=bool)
    has[:, _CRITERION["time"]] = rules.months[rule] >= 0
    has[:, _CRITERION["distance"]] = (rules.distance[rule] >= 0) & ~storage_care
    has[:, _CRITERION["wear"]] = wear.asked
    has[:, _CRITERION["first_use"]] = (rules.first_use_months[rule] >= 0) & ~storage_care
    by_months_or_distance = has[:, _CRITERION["time"]] | has[:, _CRITERION["distance"]]
    no_record = time.clock.start == NO_DAY
    days, early, late = _rule_days(by_rule, no_record)
    there = (emptied_on(shared.done, component) == NO_DAY) & ~np.isin(
        component, shared.journeys.unused
    )
    part = _Part(
        origin=np.full(rule.size, RULE),
        row=np.arange(rule.size),
        vehicle=shared.owner[component],
        timeline=time.clock.vehicle,
        component=component,
        criticality=rules.criticality[rule],
        warn_days=rules.warn_days[rule],
        has_criterion=has,
        days=days,
        early=early,
        late=late,
        no_record=no_record,
        unmeasured=wear.asked & ~by_months_or_distance & ~wear.measured,
        storage_care=storage_care,
        warn_day=by_rule.distance.warn_day,
        distance_day=by_rule.distance.day,
        before_use_from=by_rule.first_use.from_day,
        shown=by_rule.distance.shown,
    )
    return _taken(part, np.flatnonzero(there & ~(storage_care & no_record)))


def _rule_days(by_rule: ByRule, no_record: Bools) -> tuple[Ints, Ints, Ints]:
    """Return due day, early and late edge of each criterion; an edge never crosses the due day."""
    time, distance = by_rule.time.day, by_rule.distance
    wear, first = by_rule.wear, by_rule.first_use.day
    days, early, late = (_columns(no_record.size) for _ in range(3))
    for name, central, low, high in (
        ("time", time, time, time),
        ("distance", distance.day, distance.early, distance.late),
        ("wear", wear.day, wear.early, wear.late),
        ("first_use", first, first, first),
    ):
        column = _CRITERION[name]
        days[:, column] = np.where(no_record, NEVER, central)
        early[:, column] = np.where(no_record, NEVER, np.minimum(low, central))
        late[:, column] = np.where(no_record, NEVER, np.maximum(high, central))
    return days, early, late


def _columns(rows: int) -> Ints:
    return np.full((rows, _DATED), NEVER)


def _dated(origin: int, criterion: str, vehicle: Ints, due: Ints) -> _Part:
    """Return items with one dated criterion, each a matter of safety unless said otherwise."""
    size = due.size
    days = _columns(size)
    days[:, _CRITERION[criterion]] = due
    has = np.zeros(days.shape, dtype=bool)
    has[:, _CRITERION[criterion]] = True
    none, never = np.zeros(size, dtype=bool), np.full(size, NEVER)
    nothing = np.full(size, -1, dtype=np.int64)
    return _Part(
        origin=np.full(size, origin),
        row=np.arange(size),
        vehicle=vehicle,
        timeline=vehicle,
        component=nothing,
        criticality=np.full(size, SAFETY),
        warn_days=np.full(size, WARN_DAYS),
        has_criterion=has,
        days=days,
        early=days,
        late=days,
        no_record=none,
        unmeasured=none,
        storage_care=none,
        warn_day=never,
        distance_day=never,
        before_use_from=never,
        shown=nothing,
    )


def _inspections(shared: Context, certificates: Certificate) -> _Part:
    """One item for each car that is subject to inspection.

    A test suspended until a return that has no date is for before use as long as the car stands.
    """
    cars = np.arange(certificates.due.size)
    part = _dated(INSPECTION, "inspection", cars, certificates.due)
    waits = certificates.suspended & (certificates.due == NEVER)
    part = replace(part, before_use_from=np.where(waits, NO_DAY, NEVER))
    return _taken(part, np.flatnonzero(certificates.asked))


def _findings(shared: Context) -> _Part:
    findings = shared.batch.findings
    # A finding is of the place on the car: what is done to the part elsewhere does not clear it.
    still_open = open_findings(
        findings, shared.batch.inspections, shared.at_place, shared.lives.cars, shared.on
    )
    part = _dated(FINDING, "finding", findings.vehicle, findings.day)
    return _taken(replace(part, component=findings.component), still_open)


def _papers(shared: Context) -> _Part:
    papers = shared.batch.papers
    part = _dated(PAPER, "expiry", papers.vehicle, papers.until)
    part = replace(part, criticality=papers.criticality)
    return _taken(part, papers_in_force(papers, shared.on))


def _taken(part: _Part, rows: Ints) -> _Part:
    return _Part(**{field.name: getattr(part, field.name)[rows] for field in fields(part)})


def _joined(parts: list[_Part]) -> _Part:
    names = [field.name for field in fields(_Part)]
    return _Part(**{name: np.concatenate([getattr(p, name) for p in parts]) for name in names})


def _answer(shared: Context, by_rule: ByRule, certificates: Certificate, part: _Part) -> Answer:
    days = np.where(part.days > shared.horizon, NEVER, part.days)
    due = days.min(axis=1, initial=NEVER)
    part = replace(part, days=days)
    ranked = np.lexsort(
        (part.row, part.origin, part.component, part.vehicle, order_days(due, part.no_record),
         part.criticality)
    )  # fmt: skip
    part, due = _taken(part, ranked), due[ranked]
    standings = _standings(shared, part, due)
    return Answer(
        shared=shared,
        by_rule=by_rule,
        certificate=certificates,
        origin=part.origin,
        row=part.row,
        vehicle=part.vehicle,
        component=part.component,
        criticality=part.criticality,
        has_criterion=part.has_criterion,
        days=part.days,
        early=part.early,
        late=part.late,
        due=due,
        earliest=part.early.min(axis=1, initial=NEVER),
        latest=part.late.min(axis=1, initial=NEVER),
        governed_by=governing(part.days, part.has_criterion, part.no_record),
        status=status_on(standings, shared.on),
        order_day=order_days(due, part.no_record),
        shown=part.shown,
        standings=standings,
        shelved=(part.component >= 0) & (shared.batch.components.storage[part.component] >= 0)
        if shared.owner.size
        else np.zeros(part.row.size, dtype=bool),
    )


def _standings(shared: Context, part: _Part, due: Ints) -> Standings:
    dated = due != NEVER
    laid_up_from, laid_up_until, expected_to = _present_lay_up(shared, part.timeline)
    return Standings(
        due=due,
        no_record=part.no_record,
        unmeasured=part.unmeasured,
        storage_care=part.storage_care,
        overdue_from=np.minimum(np.where(dated, due + 1, NEVER), part.distance_day),
        falling_due_from=np.minimum(np.where(dated, due - part.warn_days, NEVER), part.warn_day),
        before_use_from=part.before_use_from,
        laid_up_from=laid_up_from,
        laid_up_until=laid_up_until,
        expected_to=expected_to,
    )


def _present_lay_up(shared: Context, vehicle: Ints) -> tuple[Ints, Ints, Ints]:
    """Return start, recorded end and expected end of the standing each item is in."""
    stands = shared.stands
    never = np.full(vehicle.size, NEVER)
    if not stands.start.shape[1]:
        return never, never, never
    now = stands.now[vehicle]
    column = np.maximum(now, 0)
    recorded = stands.recorded_end[vehicle, column]
    return (
        np.where(now >= 0, stands.period_start[vehicle, column], NEVER),
        np.where(now >= 0, recorded, NEVER),
        np.where((now >= 0) & (recorded == NEVER), stands.period_end[vehicle, column], NEVER),
    )
