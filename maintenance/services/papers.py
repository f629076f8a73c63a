"""Papers and kit that run out on a day: insurance, tax, certificates, fire extinguishers.

Every verb takes one transaction under the lock of the car and recomputes it.
"""

import dataclasses
import datetime
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from maintenance.models import DueItem, Paper, Vehicle
from maintenance.services.as_drafts import paper_draft
from maintenance.services.cars import locked
from maintenance.services.checks.sheets import paper_problems
from maintenance.services.drafts import PaperDraft
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.versions import locked_at


@transaction.atomic
def add_paper(*, vehicle: Vehicle, draft: PaperDraft, today: datetime.date) -> Paper:
    """Add a paper; refused: an unknown kind, days that run backward, the same paper twice."""
    vehicle = locked(vehicle)
    refuse_if_any(description_problems(vehicle, draft))
    row = paper_row(draft, vehicle)
    row.save(force_insert=True)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row


@transaction.atomic
def change_paper(
    *, paper: Paper, version: int, changes: Mapping[str, Any], today: datetime.date
) -> Paper:
    """Change fields of `PaperDraft`; refused as in `add_paper`, `Outdated` for another version."""
    vehicle = locked(paper.vehicle)
    row = locked_at(paper, version)
    draft = dataclasses.replace(paper_draft(row), **changes)
    refuse_if_any(description_problems(vehicle, draft, row))
    for name, value in dataclasses.asdict(draft).items():
        setattr(row, name, value)
    row.save()
    recompute_vehicles(vehicles=[vehicle], on=today)
    return row


@transaction.atomic
def remove_paper(*, paper: Paper, version: int, today: datetime.date) -> None:
    """Remove a paper that the car no longer needs."""
    vehicle = locked(paper.vehicle)
    row = locked_at(paper, version)
    DueItem.objects.filter(paper=row).delete()
    row.delete()
    recompute_vehicles(vehicles=[vehicle], on=today)


def paper_row(draft: PaperDraft, vehicle: Vehicle) -> Paper:
    """Return the row of a checked paper, not yet saved."""
    return Paper(vehicle=vehicle, collection_id=vehicle.collection_id, **dataclasses.asdict(draft))


def description_problems(
    vehicle: Vehicle, draft: PaperDraft, row: Paper | None = None
) -> list[Problem]:
    """Tell what is wrong with a paper by itself and beside the others; `row` is its own row."""
    problems = list(paper_problems(draft, Paper.Kind.values))
    same = Paper.objects.filter(
        vehicle=vehicle, kind=draft.kind, number=draft.number, until=draft.until
    )
    if same.exclude(pk__in=[row.pk] if row else []).exists():
        text = f"the car has a paper {draft.kind} {draft.number} until {draft.until} already"
        problems.append(Problem("/until", text))
    return problems
