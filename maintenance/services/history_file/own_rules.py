"""The interval rules of a history file."""

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.catalogue.words import unknown
from maintenance.models import Collection, IntervalRule, Vehicle
from maintenance.services.cars import closed_problems
from maintenance.services.checks.cars import Car
from maintenance.services.history_file.rule_shape import RuleRow
from maintenance.services.refusals import Problem
from maintenance.services.rule_rows import (
    RuleScope,
    columns_of,
    position_problems,
    read_own_rule,
    rule_of,
    scope_problems,
)

_SCOPE = {"vehicle", "make", "model", "position"}


@dataclass(frozen=True)
class FileRule:
    """A checked rule of a file with what it is for."""

    scope: RuleScope
    rule: Rule

    @property
    def name(self) -> tuple[Any, ...]:
        """What may stand only once: scope, kind and task."""
        scope, rule = self.scope, self.rule
        car = scope.vehicle.registration if scope.vehicle else ""
        place = (car, scope.make, scope.model, scope.position)
        return (*place, rule.kind, rule.task, rule.applies)


@dataclass
class FileRules:
    """The rules that the file adds, how many are there already, and what is wrong with them."""

    new: list[FileRule]
    already_there: int
    problems: list[Problem]
    warnings: list[str]


def read_rules(
    rows: Sequence[RuleRow],
    *,
    collection: Collection | None,
    cars: Mapping[str, tuple[Vehicle, Car]],
    other_car: Callable[[str], tuple[Vehicle, Car] | None],
) -> FileRules:
    """Check the rules of a file against its cars and against the rules there are.

    `other_car` looks a registration up among the collection's cars that the file does not name.
    """
    read = FileRules([], 0, [], [])
    stored = _stored(collection)
    first: dict[tuple[Any, ...], str] = {}
    for place, row in enumerate(rows):
        prefix = f"/interval_rules/{place}"
        car = (cars.get(row.vehicle) or other_car(row.vehicle)) if row.vehicle else None
        if row.vehicle and car is None:
            text = unknown("car of the collection", row.vehicle, cars.keys())
            read.problems.append(Problem(f"{prefix}/vehicle", text))
        made, problems = _read(row, car)
        read.problems += [problem.under(prefix) for problem in problems]
        if made is None or problems or (row.vehicle and car is None):
            continue
        _sort_in(made, prefix, first, stored, read)
        if car is not None and all(have.kind != made.rule.kind for have in car[1].components):
            text = f"{row.vehicle} has no {made.rule.kind}, so the rule does nothing yet"
            read.warnings.append(f"{prefix}/kind: {text}")
    return read


def _read(row: RuleRow, car: tuple[Vehicle, Car] | None) -> tuple[FileRule | None, list[Problem]]:
    rule, problems = read_own_rule(_plain(row.model_dump(exclude=_SCOPE)))
    scope = RuleScope(
        vehicle=car[0] if car else None,
        make=row.make or "",
        model=row.model or "",
        position=row.position or "",
    )
    problems += scope_problems(scope)
    if rule is None:
        return None, problems
    if car is not None:
        positions = {have.position for have in car[1].components if have.kind == rule.kind}
        problems += position_problems(scope, rule.kind, positions)
    return FileRule(scope, rule), problems


def _sort_in(
    made: FileRule,
    prefix: str,
    first: dict[tuple[Any, ...], str],
    stored: Mapping[tuple[Any, ...], Rule],
    read: FileRules,
) -> None:
    there = stored.get(made.name)
    if made.name in first:
        text = f"says when to {made.rule.task} {made.rule.kind} as {first[made.name]} does already"
        read.problems.append(Problem(f"{prefix}/task", f"{text}; take one out"))
    elif there is None:
        if made.scope.vehicle is not None:
            closed = closed_problems(made.scope.vehicle)
            read.problems += [problem.under(f"{prefix}/vehicle") for problem in closed]
        read.new.append(made)
    elif _comparable(there) == _comparable(made.rule):
        read.already_there += 1
    else:
        text = f"differs from the rule {there.name!r} of the collection; change that one there"
        read.problems.append(Problem(f"{prefix}/task", text))
    first.setdefault(made.name, prefix)


def _stored(collection: Collection | None) -> dict[tuple[Any, ...], Rule]:
    if collection is None:
        return {}
    rows = IntervalRule.objects.filter(collection=collection).select_related("vehicle")
    rules = (
        FileRule(
            RuleScope(vehicle=row.vehicle, make=row.make, model=row.model, position=row.position),
            rule_of(row),
        )
        for row in rows
    )
    return {one.name: one.rule for one in rules}


def rule_rows(rules: Sequence[FileRule], collection: Collection) -> Iterator[IntervalRule]:
    """Yield the rows of checked rules, not yet saved."""
    for one in rules:
        scope = one.scope
        yield IntervalRule(
            collection=collection,
            vehicle=scope.vehicle,
            make=scope.make,
            model=scope.model,
            position=scope.position,
            **columns_of(one.rule),
        )


def _comparable(rule: Rule) -> dict[str, Any]:
    terms: dict[str, Any] = _plain(dataclasses.asdict(rule))
    return terms


def _plain(value: Any) -> Any:
    """Return nested mappings without their empty members, numbers as Decimal."""
    if isinstance(value, Mapping):
        return {key: _plain(member) for key, member in value.items() if member is not None}
    return value.normalize() if isinstance(value, Decimal) else value
