"""An interval rule in its three forms: as a file or request brings it, checked, and stored.

The words of the file are those of the design of the history file: `lay_up`, `wear` and the rest;
the scope (which car, make, model or position) stands beside them.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rule_checks import read_rule
from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.catalogue.rules import LayUpTerms, WearLimit
from maintenance.models import IntervalRule, Vehicle
from maintenance.services.checks.figures import number_problems
from maintenance.services.refusals import Problem

_LONGEST_SOURCE = 300
_DISTANCES_BELOW = Decimal(1_000_000)


@dataclass(frozen=True, kw_only=True)
class RuleScope:
    """What a collection's own rule is for; everything empty for the whole collection."""

    vehicle: Vehicle | None = None
    make: str = ""
    model: str = ""
    position: str = ""


def read_own_rule(row: Mapping[str, Any]) -> tuple[Rule | None, list[Problem]]:
    """Read and check a rule without its scope; storage that counts as nothing may be left out."""
    given = {name: value for name, value in row.items() if value is not None}
    lay_up = (
        dict(given.get("lay_up") or {}) if isinstance(given.get("lay_up", {}), Mapping) else None
    )
    if lay_up is not None:
        factors = lay_up.get("factors")
        if factors is None or isinstance(factors, Mapping):
            lay_up["factors"] = {grade: 1 for grade in catalogue().grades} | dict(factors or {})
        given["lay_up"] = lay_up
    if isinstance(given.get("wear"), Mapping):
        given["wear"] = {k: v for k, v in given["wear"].items() if v is not None}
    rule, problems = read_rule(given, catalogue().vocabulary)
    found = [Problem(f"/{problem.field}", problem.message) for problem in problems]
    if rule is not None:
        found += _problems_of_keeping(rule)
    return rule, found


def _problems_of_keeping(rule: Rule) -> Iterator[Problem]:
    """Tell what the columns of a row cannot hold as it is given."""
    if len(rule.source) > _LONGEST_SOURCE:
        yield Problem("/source", f"is longer than {_LONGEST_SOURCE} characters; shorten it")
    distances = {
        "/distance_km": rule.distance_km,
        "/warn_distance_km": rule.warn_distance_km,
        "/lay_up/km_per_month": rule.lay_up.km_per_month,
    }
    for pointer, distance in distances.items():
        yield from number_problems(pointer, distance, decimals=3, below=_DISTANCES_BELOW, unit="km")
    for name in ("new", "minimum", "maximum"):
        value = getattr(rule.wear, name, None)
        if value is not None and value != round(value, 4):
            yield Problem(f"/wear/{name}", f"{value} has more than the 4 decimals kept; round it")


def scope_problems(scope: RuleScope) -> Iterator[Problem]:
    """Tell what is wrong with the scope of a rule by itself."""
    if scope.model and not scope.make:
        yield Problem("/make", "is missing; a model is named with its make")
    if scope.vehicle is not None and (scope.make or scope.model):
        yield Problem("/make", "is for rules of no one car; name a vehicle or a make, not both")
    for name, longest in (("make", 60), ("model", 60), ("position", 60)):
        if len(getattr(scope, name)) > longest:
            yield Problem(f"/{name}", f"is longer than {longest} characters; shorten it")


def position_problems(scope: RuleScope, kind: str, positions: Collection[str]) -> Iterator[Problem]:
    """Refuse a position that the car of the rule does not have; such a rule would do nothing."""
    if scope.vehicle is not None and scope.position and scope.position not in positions:
        has = ", ".join(repr(position) for position in sorted(positions)) or "none"
        yield Problem(
            "/position",
            f"{scope.vehicle.registration} has no {kind} at {scope.position!r}; it has {has}",
        )


def columns_of(rule: Rule) -> dict[str, Any]:
    """Return a checked rule as the columns of its row, without the scope."""
    wear = rule.wear
    return {
        "name": rule.name,
        "kind": rule.kind,
        "task": rule.task,
        "applies": rule.applies,
        "months": rule.months,
        "distance_km": rule.distance_km,
        **{f"factor_{grade}": factor for grade, factor in rule.lay_up.factors.items()},
        "km_per_month": rule.lay_up.km_per_month,
        "before_use_after_months": rule.before_use_after_months,
        "wear_quantity": wear.quantity if wear else "",
        "wear_unit": wear.unit if wear else "",
        "wear_new": wear.new if wear else None,
        "wear_minimum": wear.minimum if wear else None,
        "wear_maximum": wear.maximum if wear else None,
        "wear_against": wear.against if wear else IntervalRule.Against.DISTANCE,
        "counts_shelf_age": rule.counts_shelf_age,
        "warn_days": rule.warn_days,
        "warn_distance_km": rule.warn_distance_km,
        "criticality": rule.criticality,
        "source": rule.source,
    }


def rule_of(row: IntervalRule) -> Rule:
    """Return a stored rule in the form in which the catalogue's own rules come."""
    factors = {grade: getattr(row, f"factor_{grade}") for grade in catalogue().grades}
    wear = None
    if row.wear_quantity:
        wear = WearLimit(
            quantity=row.wear_quantity,
            unit=row.wear_unit,
            new=row.wear_new,
            minimum=row.wear_minimum,
            maximum=row.wear_maximum,
            against=row.wear_against,
        )
    return Rule(
        name=row.name,
        kind=row.kind,
        task=row.task,
        months=row.months,
        distance_km=row.distance_km,
        lay_up=LayUpTerms(factors=factors, km_per_month=row.km_per_month),
        before_use_after_months=row.before_use_after_months,
        applies=row.applies,
        wear=wear,
        counts_shelf_age=row.counts_shelf_age,
        warn_days=row.warn_days,
        warn_distance_km=row.warn_distance_km,
        criticality=row.criticality,
        source=row.source,
    )
