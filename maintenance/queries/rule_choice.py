"""Which interval rules hold for which component: the most specific rule wins and replaces the rest.

The order, from the narrowest: one component (vehicle and position), one vehicle, one model, one
make, one position on every car, the collection, the catalogue. A rule inherits nothing from the
one it replaces.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.catalogue.rules import LayUpTerms, WearLimit
from maintenance.models import IntervalRule


@dataclass(frozen=True)
class Place:
    """What a rule's scope is compared with: a component as its car and position describe it."""

    vehicle: uuid.UUID
    make: str
    model: str
    kind: str
    position: str


def as_rule(row: IntervalRule) -> Rule:
    """Return a collection's own rule in the shape that the catalogue's rules have."""
    return Rule(
        name=row.name,
        kind=row.kind,
        task=row.task,
        months=row.months,
        distance_km=row.distance_km,
        lay_up=LayUpTerms(
            factors={
                "heated": row.factor_heated,
                "dry": row.factor_dry,
                "damp": row.factor_damp,
                "outdoors": row.factor_outdoors,
            },
            km_per_month=row.km_per_month,
        ),
        before_use_after_months=row.before_use_after_months,
        applies=row.applies,
        wear=WearLimit(
            quantity=row.wear_quantity,
            unit=row.wear_unit,
            new=row.wear_new,
            minimum=row.wear_minimum,
            maximum=row.wear_maximum,
            against=row.wear_against,
        )
        if row.wear_quantity
        else None,
        counts_shelf_age=row.counts_shelf_age,
        warn_days=row.warn_days,
        warn_distance_km=row.warn_distance_km,
        criticality=row.criticality,
        source=row.source,
    )


_CATALOGUE = 8
"""The breadth of a rule of the catalogue: wider than any of a collection's own."""


def _breadth(row: IntervalRule, place: Place) -> int | None:
    """Return how widely a rule applies, from 0 for one component; None where it does not hold."""
    wants = (
        (row.vehicle_id, place.vehicle),
        (row.make, place.make),
        (row.model, place.model),
        (row.position, place.position),
    )
    if any(wanted and wanted != found for wanted, found in wants):
        return None
    if row.vehicle_id:
        return 0 if row.position else 1
    breadth = 2 if row.model else 4 if row.make else 6
    return breadth if row.position else breadth + 1


class RuleChoice:
    """Chooses rules for the components of one collection, remembering what it has chosen.

    Costs one query for the collection's own rules, however many components are asked about.
    """

    def __init__(self, own_rules: Iterable[IntervalRule]) -> None:
        self._by_kind: dict[str, list[tuple[IntervalRule, Rule]]] = {}
        self._vehicles = set()
        for row in own_rules:
            self._by_kind.setdefault(row.kind, []).append((row, as_rule(row)))
            self._vehicles.add(row.vehicle_id)
        self._chosen: dict[tuple[object, ...], tuple[Rule, ...]] = {}

    def rules_for(self, place: Place) -> tuple[Rule, ...]:
        """Return the rules that hold for a component, one for each task."""
        own = place.vehicle if place.vehicle in self._vehicles else None
        key = (own, place.make, place.model, place.kind, place.position)
        if key not in self._chosen:
            self._chosen[key] = self._choose(place)
        return self._chosen[key]

    def _choose(self, place: Place) -> tuple[Rule, ...]:
        best: dict[tuple[str, str], tuple[int, Rule]] = {}
        for rule in catalogue().rules_for(place.kind):
            best[rule.task, rule.applies] = (_CATALOGUE, rule)
        for row, rule in self._by_kind.get(place.kind, ()):
            breadth = _breadth(row, place)
            key = (rule.task, rule.applies)
            if breadth is not None and (key not in best or breadth < best[key][0]):
                best[key] = (breadth, rule)
        return tuple(rule for _, rule in best.values())
