"""The specification sheet of a car, line by line, with the page of the handbook."""

import dataclasses
from collections.abc import Mapping

from django.db import transaction

from maintenance.models import SpecificationLine, Vehicle
from maintenance.services.as_drafts import specification_draft
from maintenance.services.cars import locked
from maintenance.services.checks.sheets import specification_problems
from maintenance.services.drafts import SpecificationDraft
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.versions import locked_at


@transaction.atomic
def add_specification_line(*, vehicle: Vehicle, draft: SpecificationDraft) -> SpecificationLine:
    """Add a line; refused without item or value, and where the sheet has the item already."""
    vehicle = locked(vehicle)
    refuse_if_any(description_problems(vehicle, draft))
    row = line_row(draft, vehicle)
    row.save(force_insert=True)
    return row


@transaction.atomic
def change_specification_line(
    *, line: SpecificationLine, version: int, changes: Mapping[str, str]
) -> SpecificationLine:
    """Change fields of `SpecificationDraft`; `Outdated` for another version."""
    vehicle = locked(line.vehicle)
    row = locked_at(line, version)
    draft = dataclasses.replace(specification_draft(row), **changes)
    refuse_if_any(description_problems(vehicle, draft, row))
    for name, value in dataclasses.asdict(draft).items():
        setattr(row, name, value)
    row.save()
    return row


@transaction.atomic
def remove_specification_line(*, line: SpecificationLine, version: int) -> None:
    """Strike a line from the sheet."""
    locked(line.vehicle)
    locked_at(line, version).delete()


def line_row(draft: SpecificationDraft, vehicle: Vehicle) -> SpecificationLine:
    """Return the row of a checked line, not yet saved."""
    return SpecificationLine(
        vehicle=vehicle, collection_id=vehicle.collection_id, **dataclasses.asdict(draft)
    )


def description_problems(
    vehicle: Vehicle, draft: SpecificationDraft, row: SpecificationLine | None = None
) -> list[Problem]:
    """Tell what is wrong with a line by itself and beside the others; `row` is its own row."""
    problems = list(specification_problems(draft))
    same = SpecificationLine.objects.filter(vehicle=vehicle, item=draft.item)
    if same.exclude(pk__in=[row.pk] if row else []).exists():
        text = f"the sheet has a line {draft.item!r} already; change that one"
        problems.append(Problem("/item", text))
    return problems
