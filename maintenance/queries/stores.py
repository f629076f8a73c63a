"""Stores whose factors differ from their grade's: by a measured climate, or by preparations.

Each such lay-up becomes a store of its own in the columns, so that the engine counts its days by
the one rule by which it counts all others. A collection's own rules keep the factors it gave them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.engine.ageing import MECHANISMS
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.factors import LayUpFactor
from maintenance.engine.ageing.preparations import PREPARATIONS, with_preparations
from maintenance.engine.columns import GRADES, Ints, Stores
from maintenance.engine.units import HUNDREDTHS


class Stay(NamedTuple):
    """How a car stands in one lay-up: its grade, its preparations, its climate if measured."""

    grade: str
    preparations: tuple[str, ...]
    climate: StoreClimate | None


@dataclass(frozen=True)
class StoreColumns:
    """The store of each stay, with the factors of the stores beyond the grades."""

    number: list[int]
    factors: Ints
    """Shape (rules, further stores) [0.01 days a day]."""
    stores: Stores


def store_columns(stays: Sequence[Stay], rules: Sequence[Rule]) -> StoreColumns:
    """Return which store each stay is in; stays that differ from their grade get their own."""
    numbers: dict[object, int] = {}
    further: list[Stay] = []
    number = []
    for stay in stays:
        # What an old record says in words of its own changes nothing.
        known = tuple(sorted({each for each in stay.preparations if each in PREPARATIONS}))
        if not known and stay.climate is None:
            number.append(GRADES.index(stay.grade))
            continue
        key = (stay.grade, known, id(stay.climate) if stay.climate else None)
        if key not in numbers:
            numbers[key] = len(GRADES) + len(further)
            further.append(Stay(stay.grade, known, stay.climate))
        number.append(numbers[key])
    return _columns(number, further, rules)


def _columns(number: list[int], further: list[Stay], rules: Sequence[Rule]) -> StoreColumns:
    factors = np.zeros((len(rules), len(further)), dtype=np.int64)
    reason = np.full((len(rules), len(GRADES) + len(further)), "", dtype=np.object_)
    reason[:, : len(GRADES)] = np.array([[_of_mechanism(rule)] for rule in rules] or [[""]])
    for column, stay in enumerate(further):
        by_climate = _by_climate(stay)
        for row, rule in enumerate(rules):
            factor = _factor(rule, stay, by_climate)
            factors[row, column] = factor.hundredths
            if factor.steps:
                reason[row, len(GRADES) + column] = _reason(factor)
            else:
                reason[row, len(GRADES) + column] = reason[row, 0]
    grades = np.array([GRADES.index(stay.grade) for stay in further], dtype=np.int64)
    return StoreColumns(number, factors, Stores(grades, reason))


def _of_mechanism(rule: Rule) -> str:
    """Return why a rule of the catalogue counts days in a store as it does."""
    mechanism = catalogue().mechanisms.get(catalogue().mechanism_of(rule) or "")
    return f"{mechanism.name}: {mechanism.source}" if mechanism else ""


def _by_climate(stay: Stay) -> dict[str, LayUpFactor]:
    """Return each mechanism's factor by the integral over the measured climate."""
    if stay.climate is None:
        return {}
    return {slug: factor(stay.climate) for slug, factor in MECHANISMS.items()}


def _factor(rule: Rule, stay: Stay, by_climate: dict[str, LayUpFactor]) -> LayUpFactor:
    mechanism = catalogue().mechanism_of(rule) or ""
    own = int(rule.lay_up.factors[stay.grade] * HUNDREDTHS)
    factor = by_climate.get(mechanism) or LayUpFactor(mechanism, stay.grade, own, ())
    return with_preparations(factor, rule.kind, stay.preparations)


def _reason(factor: LayUpFactor) -> str:
    return "; ".join(
        f"{step.text}: {step.value:.4g}{_unit(step.unit)}"
        + (f" ({step.source})" if step.source else "")
        for step in factor.steps
    )


def _unit(unit: str) -> str:
    return "" if unit == "1" else f" {unit}"
