"""A collection's own interval rules, which replace less specific ones whole.

Every verb takes one transaction and recomputes the cars that the rule may touch.
"""

import dataclasses
import datetime
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.models import Collection, Component, IntervalRule, Vehicle
from maintenance.services.cars import closed_problems, lock_all, locked_with_linked
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rule_rows import (
    RuleScope,
    columns_of,
    position_problems,
    read_own_rule,
    rule_of,
    scope_problems,
)
from maintenance.services.versions import locked_at


@transaction.atomic
def add_interval_rule(
    *,
    collection: Collection,
    scope: RuleScope,
    rule: Mapping[str, Any],
    today: datetime.date,
) -> IntervalRule:
    """Add a rule, given in the words of the history file without its scope.

    Refused, with every field at fault: what the catalogue would refuse (among it a lay-up factor
    below 1: storage never lengthens a limit), and a second rule of one scope, kind and task.
    """
    _lock_cars(collection, scope)
    _refuse_closed(scope.vehicle)
    checked = _checked(collection, scope, rule)
    row = IntervalRule(collection=collection, **_scope_columns(scope), **columns_of(checked))
    row.save(force_insert=True)
    recompute_vehicles(vehicles=_cars_of(row), on=today)
    return row


@transaction.atomic
def change_interval_rule(
    *,
    interval_rule: IntervalRule,
    version: int,
    changes: Mapping[str, Any],
    today: datetime.date,
    scope: RuleScope | None = None,
) -> IntervalRule:
    """Change some terms of a rule, and its scope where one is given.

    `changes` holds keys of the history file's rule; `lay_up` and `wear` are replaced whole.
    Refused as in `add_interval_rule`. Raises `Outdated` for another version.
    """
    scope = scope or scope_of(interval_rule)
    _lock_cars(interval_rule.collection, scope_of(interval_rule), scope)
    row = locked_at(interval_rule, version)
    before = list(_cars_of(row))
    _refuse_closed(row.vehicle)
    _refuse_closed(scope.vehicle)
    terms = dataclasses.asdict(rule_of(row)) | dict(changes)
    checked = _checked(row.collection, scope, terms, row)
    for name, value in {**_scope_columns(scope), **columns_of(checked)}.items():
        setattr(row, name, value)
    row.save()
    touched = {vehicle.pk: vehicle for vehicle in [*before, *_cars_of(row)]}
    recompute_vehicles(vehicles=touched.values(), on=today)
    return row


@transaction.atomic
def remove_interval_rule(
    *, interval_rule: IntervalRule, version: int, today: datetime.date
) -> None:
    """Remove a rule; the next less specific one is in force again."""
    _lock_cars(interval_rule.collection, scope_of(interval_rule))
    row = locked_at(interval_rule, version)
    _refuse_closed(row.vehicle)
    touched = list(_cars_of(row))
    row.delete()
    recompute_vehicles(vehicles=touched, on=today)


def _lock_cars(collection: Collection, *scopes: RuleScope) -> None:
    """Lock every car that rules of these scopes could touch, before it is asked which they do.

    Else a component added meanwhile and the rule would not see each other.
    """
    named = [scope.vehicle for scope in scopes if scope.vehicle is not None]
    if len(named) == len(scopes):
        locked_with_linked(named)
    else:
        lock_all(Vehicle.objects.filter(collection=collection).values_list("pk", flat=True))


def _refuse_closed(vehicle: Vehicle | None) -> None:
    if vehicle is not None:
        refuse_if_any(closed_problems(vehicle))


def scope_of(row: IntervalRule) -> RuleScope:
    """Return what a stored rule is for."""
    return RuleScope(vehicle=row.vehicle, make=row.make, model=row.model, position=row.position)


def same_scope(collection: Collection, scope: RuleScope, rule: Rule) -> QuerySet[IntervalRule]:
    """Return the rule that stands in the place of another one: same scope, kind and task."""
    return IntervalRule.objects.filter(
        collection=collection,
        kind=rule.kind,
        task=rule.task,
        applies=rule.applies,
        **_scope_columns(scope),
    )


def row_problems(row: IntervalRule) -> list[Problem]:
    """Tell what is wrong with a row about to be saved, by itself and beside the others.

    To be called under the locks of the cars that the rule may touch.
    """
    terms = dataclasses.asdict(rule_of(row))
    return _read(row.collection, scope_of(row), terms, row)[1]


def _checked(
    collection: Collection,
    scope: RuleScope,
    terms: Mapping[str, Any],
    row: IntervalRule | None = None,
) -> Rule:
    checked, problems = _read(collection, scope, terms, row)
    refuse_if_any(problems)
    assert checked is not None  # without a problem there is a rule
    return checked


def _read(
    collection: Collection, scope: RuleScope, terms: Mapping[str, Any], row: IntervalRule | None
) -> tuple[Rule | None, list[Problem]]:
    checked, problems = read_own_rule(terms)
    problems += scope_problems(scope)
    if checked is not None:
        problems += _place_problems(collection, scope, checked, row)
    return checked, problems


def _place_problems(
    collection: Collection, scope: RuleScope, rule: Rule, row: IntervalRule | None
) -> Iterator[Problem]:
    if scope.vehicle is not None and scope.vehicle.collection_id != collection.pk:
        yield Problem("/vehicle", "is no car of this collection")
        return
    if scope.vehicle is not None:
        places = Component.objects.filter(vehicle=scope.vehicle, kind=rule.kind)
        positions = places.values_list("position", flat=True)
        yield from position_problems(scope, rule.kind, list(positions))
    others = same_scope(collection, scope, rule).exclude(pk__in=[row.pk] if row else [])
    other = others.first()
    if other is not None:
        yield Problem(
            "/task",
            f"the rule {other.name!r} says already when to {rule.task} {rule.kind} there; "
            "change that one",
        )


def _scope_columns(scope: RuleScope) -> dict[str, Any]:
    return {
        "vehicle": scope.vehicle,
        "make": scope.make,
        "model": scope.model,
        "position": scope.position,
    }


def _cars_of(row: IntervalRule) -> QuerySet[Vehicle]:
    cars = Vehicle.objects.filter(collection=row.collection_id, components__kind=row.kind)
    if row.vehicle_id is not None:
        cars = cars.filter(pk=row.vehicle_id)
    if row.make:
        cars = cars.filter(make=row.make)
    if row.model:
        cars = cars.filter(model=row.model)
    return cars.distinct()
