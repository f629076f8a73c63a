"""The engine's answer about some cars as due items, not saved.

Both the stored due list and a question about another day come from here.
"""

import datetime
from collections.abc import Iterable
from decimal import Decimal

import numpy as np

from maintenance.catalogue.load import catalogue
from maintenance.engine.columns import CRITERIA, STATUSES, TASKS
from maintenance.engine.days import NEVER, NO_DAY, from_day, to_day
from maintenance.engine.due import FINDING, INSPECTION, RULE, Answer, due_items
from maintenance.engine.forecast import Forecast
from maintenance.engine.resets import emptied_on
from maintenance.engine.working import sentence
from maintenance.models import Component, DueItem, Finding, Vehicle
from maintenance.queries.cycles import cycles
from maintenance.queries.departures import present
from maintenance.queries.due_keys import INSPECTION_KEY, finding_key, paper_key, rule_key
from maintenance.queries.histories import History, histories

INSPECTION_KIND = "roadworthiness-inspection"
"""Stands where a component's kind does, for the inspection that concerns the whole car."""

DANGEROUS = (
    "A dangerous finding: by Directive 2014/45/EU, Articles 7 and 9 (from memory), the car may be "
    "kept off the road until it is mended. Do not drive it, to a workshop either; local law goes "
    "first."
)
"""Said of every dangerous finding, before the cautions of the part."""


class Answers:
    """Due items of some cars of one collection as known on a day, in the order of the due list.

    A car that has left the collection by then has none. Costs the queries of `histories`, once,
    and one more.
    """

    def __init__(
        self,
        vehicles: Iterable[Vehicle],
        *,
        on: datetime.date,
        history: History | None = None,
        planned: Forecast | None = None,
    ) -> None:
        """Read the cars, or take a history read before and changed by a plan, with its rates."""
        self.history: History = histories(present(vehicles, on)) if history is None else history
        self.answer: Answer = due_items(self.history.batch, on=to_day(on), planned=planned)
        self.on = on

    def items(self) -> list[DueItem]:
        """Return the due items, each with its `status` on the day asked about."""
        return [self._item(row, cycle) for row, cycle in enumerate(cycles(self.answer))]

    def emptied(self) -> dict[Component, datetime.date | None]:
        """Return for each component of the cars asked about since when nothing is in its place."""
        own = self.history.own_components
        days = emptied_on(self.answer.shared.done, np.arange(len(own)))
        return dict(zip(own, map(_date, days), strict=True))

    def subject(self, row: int) -> str:
        """Return the component or paper of an item in words, beginning with a capital.

        A finding's say in brackets how grave it is and what was seen.
        """
        return self.subject_of(int(self.answer.origin[row]), int(self.answer.row[row]))

    def subject_of(self, origin: int, place: int) -> str:
        """Return the same for an item by its origin and its row in the batch."""
        names = self.names_of(origin, place)
        kind, position = str(names["kind"]), str(names["position"])
        known = catalogue().kinds.get(kind)
        words = f"{position} {known.name if known else kind.replace('-', ' ')}".strip()
        words = words[:1].upper() + words[1:]
        if origin == FINDING:
            # Two words tell a leak from a worn label: how grave it is, and what was seen.
            finding = self.history.findings[place]
            seen = " ".join(finding.note.split())
            words += f" ({finding.category}{': ' if seen else ''}{seen})"
        return words

    def _item(self, row: int, cycle: str) -> DueItem:
        answer, standings = self.answer, self.answer.standings
        car = self.history.vehicles[int(answer.vehicle[row])]
        item = DueItem(
            collection_id=car.collection_id,
            vehicle=car,
            cycle=cycle,
            **self.names_of(int(answer.origin[row]), int(answer.row[row])),
            criticality_rank=int(answer.criticality[row]),
            due_on=_date(answer.due[row]),
            earliest_on=_date(answer.earliest[row]),
            latest_on=_date(answer.latest[row]),
            due_at_odometer=_reading(int(answer.shown[row])),
            governed_by=CRITERIA[int(answer.governed_by[row])],
            criteria=self._criteria(row),
            sentence=sentence(answer, row, subject=self.subject(row)),
            order_day=_order_day(int(answer.order_day[row])),
            no_record=bool(standings.no_record[row]),
            no_record_since=self.on if standings.no_record[row] else None,
            unmeasured=bool(standings.unmeasured[row]),
            storage_care=bool(standings.storage_care[row]),
            overdue_from=_date(standings.overdue_from[row]),
            falling_due_from=_date(standings.falling_due_from[row]),
            before_use_from=_day_or_always(int(standings.before_use_from[row])),
            laid_up_from=_date(standings.laid_up_from[row]),
            laid_up_until=_date(standings.laid_up_until[row]),
            expected_to=_date(standings.expected_to[row]),
            changed_on=self.on,
        )
        item.status = STATUSES[int(answer.status[row])]
        return item

    def names_of(self, origin: int, place: int) -> dict[str, object]:
        """Return what tells an item from others, and the words that go with it.

        `place` is the item's row in the batch, of the table that its origin names.
        """
        if origin == RULE:
            return self._rule_names(place)
        if origin == INSPECTION:
            return self._inspection_names(place)
        if origin == FINDING:
            return self._finding_names(place)
        paper = self.history.papers[place]
        return {
            "key": paper_key(paper.id),
            "paper": paper,
            "kind": paper.kind,
            "position": "",
            "rule": f"{paper.get_kind_display()} {paper.number}".strip(),
            "task": "renew",
            "source": paper.issuer,
        }

    def _rule_names(self, place: int) -> dict[str, object]:
        batch = self.history.batch
        component = self.history.components[int(batch.items.component[place])]
        rule = int(batch.items.rule[place])
        task = TASKS[int(batch.rules.task[rule])]
        applies = "laid_up" if batch.rules.laid_up_only[rule] else "always"
        return {
            "key": rule_key(component.id, task, applies),
            "component": component,
            "kind": component.kind,
            "position": component.position,
            "rule": str(batch.rules.name[rule]),
            "task": task,
            "source": str(batch.rules.source[rule]),
            "caution": _caution(component.kind),
        }

    def _inspection_names(self, car: int) -> dict[str, object]:
        batch = self.history.batch
        regime = int(batch.vehicles.regime[car])
        return {
            "key": INSPECTION_KEY,
            "kind": INSPECTION_KIND,
            "position": "",
            "rule": "roadworthiness inspection",
            "task": "inspect",
            "source": str(batch.regimes.source[regime]) if regime >= 0 else "the certificate",
        }

    def _finding_names(self, place: int) -> dict[str, object]:
        finding = self.history.findings[place]
        component = self.history.components[int(self.history.batch.findings.component[place])]
        return {
            "key": finding_key(finding.id),
            "finding": finding,
            "component": component,
            "kind": component.kind,
            "position": component.position,
            "rule": f"{finding.category} finding of {finding.inspection.on}",
            "task": "repair",
            "source": "Directive 2014/45/EU, Articles 7 and 9",
            "caution": " ".join(filter(None, (_danger(finding), _caution(component.kind)))),
        }

    def _criteria(self, row: int) -> list[dict[str, str | None]]:
        answer = self.answer
        return [
            {
                "criterion": CRITERIA[int(column)],
                "due_on": _text(answer.days[row, column]),
                "earliest_on": _text(answer.early[row, column]),
                "latest_on": _text(answer.late[row, column]),
            }
            for column in answer.has_criterion[row].nonzero()[0]
        ]


def due_on_another_day(vehicles: Iterable[Vehicle], *, on: datetime.date) -> list[DueItem]:
    """Return the due items of cars of one collection on any day, in the order of the due list.

    Nothing is saved; each item carries its `status` on that day.
    """
    return sorted(
        Answers(vehicles, on=on).items(),
        key=lambda item: (
            item.criticality_rank,
            item.order_day,
            item.kind,
            item.position,
            item.vehicle.registration,
        ),
    )


def _date(day: int) -> datetime.date | None:
    return None if day in (NEVER, NO_DAY) else from_day(int(day))


def _day_or_always(day: int) -> datetime.date | None:
    return datetime.date.min if day == NO_DAY else _date(day)


def _order_day(day: int) -> datetime.date:
    if day == NO_DAY:
        return datetime.date.min
    return datetime.date.max if day == NEVER else from_day(day)


def _text(day: int) -> str | None:
    date = _date(day)
    return date.isoformat() if date else None


def _reading(tenths: int) -> Decimal | None:
    return None if tenths < 0 else Decimal(tenths) / 10


def _danger(finding: Finding) -> str:
    return DANGEROUS if finding.category == Finding.Category.DANGEROUS else ""


def _caution(kind: str) -> str:
    return " ".join(caution.text for caution in catalogue().cautions_for(kind))
