"""What is measured when a component is inspected, and the limit that the car's rules give."""

import uuid
from collections.abc import Sequence

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rules import WearLimit
from maintenance.models import Component, IntervalRule, Vehicle
from maintenance.queries.rule_choice import Place, RuleChoice


def measured_on(
    vehicle: Vehicle, components: Sequence[Component]
) -> dict[uuid.UUID, tuple[str, ...]]:
    """Return by component what is measured on it, with unit and limit, as job sheets put it.

    One query.
    """
    choice = RuleChoice(IntervalRule.objects.filter(collection=vehicle.collection_id))
    found = {}
    for one in components:
        place = Place(vehicle.pk, vehicle.make, vehicle.model, one.kind, one.position)
        limits = [rule.wear for rule in choice.rules_for(place) if rule.wear is not None]
        found[one.pk] = tuple(dict.fromkeys(map(_words, limits)))
    return found


def _words(limit: WearLimit) -> str:
    known = catalogue().quantities.get(limit.quantity)
    name = known.name if known else limit.quantity.replace("_", " ")
    least = limit.minimum is not None
    figure = limit.minimum if least else limit.maximum
    shown = "" if figure is None else f"{figure.normalize():f}"
    return f"{name} [{limit.unit}], {'at least' if least else 'at most'} {shown}"
