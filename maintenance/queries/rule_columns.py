"""Interval rules and inspection regimes as columns for the engine."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

import numpy as np

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.regimes import InspectionRegime
from maintenance.catalogue.rules import IntervalRule
from maintenance.engine.columns import (
    CRITICALITIES,
    GRADES,
    TASKS,
    Bools,
    Floats,
    Ints,
    Regimes,
    Rules,
    Texts,
)
from maintenance.engine.days import NEVER
from maintenance.engine.units import HUNDREDTHS, TENTH_MM_PER_KM


def _ints(values: Iterable[int]) -> Ints:
    return np.array(list(values), dtype=np.int64)


def _texts(values: Iterable[str]) -> Texts:
    return np.array(list(values), dtype=object)


def _bools(values: Iterable[bool]) -> Bools:
    return np.array(list(values), dtype=bool)


def _floats(values: Iterable[Decimal | None]) -> Floats:
    return np.array([np.nan if value is None else float(value) for value in values])


def _distance(value: Decimal | None) -> int:
    return -1 if value is None else int(value * TENTH_MM_PER_KM)


def _count(value: int | None) -> int:
    return -1 if value is None else value


def rule_columns(rules: Sequence[IntervalRule], further: Ints) -> Rules:
    """Return rules as columns, in the order given.

    `further` has the factors of the stores that differ from their grade's, a column a store.
    """
    quantities = sorted(catalogue().quantities)
    wears = [rule.wear for rule in rules]
    factors = [[int(rule.lay_up.factors[grade] * HUNDREDTHS) for grade in GRADES] for rule in rules]
    return Rules(
        name=_texts(rule.name for rule in rules),
        kind=_texts(rule.kind for rule in rules),
        source=_texts(rule.source for rule in rules),
        task=_ints(TASKS.index(rule.task) for rule in rules),
        laid_up_only=_bools(rule.applies == "laid_up" for rule in rules),
        months=_ints(_count(rule.months) for rule in rules),
        distance=_ints(_distance(rule.distance_km) for rule in rules),
        factors=np.hstack(
            [np.array(factors, dtype=np.int64).reshape(len(rules), len(GRADES)), further]
        ),
        standing_per_month=_ints(_distance(rule.lay_up.km_per_month) for rule in rules),
        first_use_months=_ints(_count(rule.before_use_after_months) for rule in rules),
        counts_shelf_age=_bools(rule.counts_shelf_age for rule in rules),
        quantity=_ints(quantities.index(wear.quantity) if wear else -1 for wear in wears),
        wear_quantity=_texts(wear.quantity if wear else "" for wear in wears),
        wear_unit=_texts(wear.unit if wear else "" for wear in wears),
        wear_new=_floats(wear.new if wear else None for wear in wears),
        wear_minimum=_floats(wear.minimum if wear else None for wear in wears),
        wear_maximum=_floats(wear.maximum if wear else None for wear in wears),
        against_aged_days=_bools(
            wear is not None and wear.against == "aged_days" for wear in wears
        ),
        warn_days=_ints(rule.warn_days for rule in rules),
        warn_distance=_ints(_distance(rule.warn_distance_km) for rule in rules),
        criticality=_ints(CRITICALITIES.index(rule.criticality) for rule in rules),
    )


def regime_order() -> list[str]:
    """Return the codes of the regimes in the order of their columns."""
    return sorted(catalogue().regimes)


def regime_columns() -> Regimes:
    """Return the catalogue's inspection regimes as columns."""
    regimes = [catalogue().regimes[code] for code in regime_order()]
    most = max(len(regime.bands) for regime in regimes)
    return Regimes(
        name=_texts(regime.name for regime in regimes),
        source=_texts(_sources(regime) for regime in regimes),
        first_after_months=_ints(regime.first_after_months for regime in regimes),
        band_from_months=np.array(
            [
                [band.from_age_months for band in regime.bands]
                + [NEVER] * (most - len(regime.bands))
                for regime in regimes
            ],
            dtype=np.int64,
        ),
        band_every_months=np.array(
            [
                [band.every_months for band in regime.bands] + [0] * (most - len(regime.bands))
                for regime in regimes
            ],
            dtype=np.int64,
        ),
        exempt_after_months=_ints(_count(regime.exempt_after_months) for regime in regimes),
        day_before=_bools(regime.certificate_end == "day_before" for regime in regimes),
        month_end=_bools(regime.certificate_end == "month_end" for regime in regimes),
        keeps_date_months=_ints(regime.keeps_date_months_early for regime in regimes),
        keeps_first_date=_bools(regime.date_kept == "first_due" for regime in regimes),
        by_registration=_bools(regime.date_kept == "registration" for regime in regimes),
        suspended_off_road=_bools(regime.suspended_off_road for regime in regimes),
    )


def _sources(regime: InspectionRegime) -> str:
    return "; ".join(
        f"{source.text} ({source.basis} {source.read_on})" for source in regime.sources
    )
