"""Which due items a car can have, named so that a file can tell of them in any database."""

import dataclasses
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from maintenance.models import IntervalRule, Postponement, Vehicle
from maintenance.queries import rule_choice
from maintenance.queries.due_keys import read_key
from maintenance.services.checks.inspections import GRAVE
from maintenance.services.drafts import DueItemName, InspectionDraft, PaperDraft, Place
from maintenance.services.history_file.contents import CarContents

Finding = TypeVar("Finding")
Asked = Callable[[Place], Collection[tuple[str, str]]]
"""Tells what the rules ask of a component of one car: task, and whether always or laid up."""


def finding_names(
    *groups: Iterable[tuple[InspectionDraft, Sequence[Finding]]],
) -> dict[DueItemName, Finding]:
    """Return the findings that fall due by their names, given inspections and what they found.

    Findings that say the same of one day are counted through, group by group: those of a later
    group leave the names of an earlier one as they are. Within a group equal inspections count in
    the order given.
    """
    named: dict[DueItemName, Finding] = {}
    times: Counter[DueItemName] = Counter()
    for group in groups:
        for draft, found in sorted(group, key=lambda pair: _order(pair[0])):
            for said, finding in zip(draft.findings, found, strict=True):
                if said.category not in GRAVE:
                    continue
                name = DueItemName(
                    of="finding",
                    place=said.place,
                    on=draft.on,
                    category=said.category,
                    note=said.note,
                )
                times[name] += 1
                named[dataclasses.replace(name, which=times[name])] = finding
    return named


def _order(draft: InspectionDraft) -> tuple[Any, ...]:
    """Order inspections by what they say alone, or a file would come back with other names."""
    return (
        draft.on,
        -1 if draft.odometer is None else draft.odometer,
        draft.certificate,
        [(finding.place, finding.category, finding.note) for finding in draft.findings],
    )


def paper_name(draft: PaperDraft) -> DueItemName:
    """Return the name of what falls due when a paper runs out."""
    return DueItemName(of="paper", place=Place(draft.kind), number=draft.number, until=draft.until)


def asked_by(rules: Iterable[IntervalRule]) -> Callable[[Vehicle], Asked]:
    """Return what tells for each car of a collection what its rules and the catalogue's ask."""
    choice = rule_choice.RuleChoice(rules)

    def of_car(car: Vehicle) -> Asked:
        def of_component(place: Place) -> set[tuple[str, str]]:
            asked = rule_choice.Place(car.pk, car.make, car.model, *place)
            return {(rule.task, rule.applies) for rule in choice.rules_for(asked)}

        return of_component

    return of_car


@dataclass(frozen=True)
class CarItems:
    """What of a car can fall due: components with what is asked of them, findings, papers.

    Of an inspection is known only whether there is a regime or one on record; whether anything is
    due just now depends on the day, and what was put off before it was done stays put off.
    """

    components: Collection[Place]
    asked: Asked
    findings: Collection[DueItemName]
    papers: Collection[DueItemName]
    inspected: bool

    @classmethod
    def of(cls, asked: Asked, *contents: CarContents) -> "CarItems":
        """Return the items of a car of which all that is given stands together."""
        return cls(
            {draft.place for one in contents for draft in one.components},
            asked,
            finding_names(
                *([(draft, draft.findings) for draft in one.inspections] for one in contents)
            ),
            {paper_name(draft) for one in contents for draft in one.papers},
            any(one.vehicle.inspection_regime or one.inspections for one in contents),
        )

    def has(self, name: DueItemName) -> bool:
        """Say whether anything on record asks for an item."""
        if name.of == "component":
            there = name.place in self.components
            return there and (name.task, name.applies) in self.asked(name.place)
        if name.of == "finding":
            return name in self.findings
        return name in self.papers if name.of == "paper" else self.inspected


def put_off_item(
    row: Postponement,
    components: dict[str, Place],
    findings: dict[str, DueItemName],
    papers: dict[str, DueItemName],
) -> tuple[DueItemName, bool]:
    """Return the name of the item that a stored postponement is of, and whether it is gone.

    The rest is what stands on record of the car in force, by identifier.
    """
    key = read_key(row.item_key)
    place = Place(row.kind, row.position)
    if key.of == "rule":
        known = components.get(key.row)
        named = DueItemName(
            of="component", place=known or place, task=key.task, applies=key.applies
        )
        return named, known is None
    if key.of == "inspection":
        return DueItemName(of="inspection", place=place), bool(key.row)
    found = (findings if key.of == "finding" else papers).get(key.row)
    return found or DueItemName(of=key.of, place=place), found is None
