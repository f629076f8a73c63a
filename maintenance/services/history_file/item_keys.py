"""The keys of the due items that the postponements of a car name."""

from collections.abc import Mapping, Sequence
from uuid import UUID

from maintenance.models import Component, Finding, Paper
from maintenance.models.base import new_id
from maintenance.queries.due_keys import INSPECTION_KEY, finding_key, paper_key, rule_key
from maintenance.services.as_drafts import paper_draft
from maintenance.services.drafts import DueItemName, InspectionDraft, Place, PostponementDraft
from maintenance.services.history_file.compare import FileCar
from maintenance.services.history_file.due_item_names import finding_names, paper_name
from maintenance.services.history_file.stored import Inspected


class ItemKeys:
    """Finds the rows, stored or about to be, of what is put off of one car; one query, if any."""

    def __init__(self, car: FileCar, components: Mapping[Place, Component]) -> None:
        self._car = car
        self._components = components
        self._inspected: Inspected = []
        self._papers: list[Paper] = []

    def add_inspection(self, draft: InspectionDraft, findings: Sequence[Finding]) -> None:
        """Take note of an inspection that the file adds."""
        self._inspected.append((draft, findings))

    def add_paper(self, row: Paper) -> None:
        """Take note of a paper that the file adds."""
        self._papers.append(row)

    def key_of(self, draft: PostponementDraft) -> str:
        """Return the key of the item that a checked postponement is of.

        That of an item that is gone is one that no item has.
        """
        name = draft.item
        if name.of == "component":
            place = new_id() if draft.gone else self._components[name.place].id
            return rule_key(place, name.task, name.applies)
        if name.of == "finding":
            return finding_key(new_id() if draft.gone else self._finding(name))
        if name.of == "paper":
            return paper_key(new_id() if draft.gone else self._paper(name))
        return f"{INSPECTION_KEY}:{new_id()}" if draft.gone else INSPECTION_KEY

    def _finding(self, name: DueItemName) -> UUID:
        stored = self._car.stored.inspected if self._car.stored else []
        return finding_names(stored, self._inspected)[name].id

    def _paper(self, name: DueItemName) -> UUID:
        rows = list(self._papers)
        if self._car.stored is not None:
            rows += Paper.objects.filter(vehicle=self._car.stored.row)
        return next(row.id for row in rows if paper_name(paper_draft(row)) == name)
