"""Keep what parts cost at suppliers: one by one, or a price list at once."""

import csv
import dataclasses
import io
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction

from maintenance.catalogue.words import unknown
from maintenance.models import Collection, PartOffer
from maintenance.services.checks.plans import offer_problems
from maintenance.services.plans.terms import OfferDraft
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.versions import locked_at

COLUMNS = tuple(field.name for field in dataclasses.fields(OfferDraft))
_NEEDED = ("kind", "name", "price", "currency")
_IDENTITY = ("kind", "position", "make", "model", "name", "supplier")


@transaction.atomic
def add_offer(*, collection: Collection, draft: OfferDraft) -> PartOffer:
    """Add an offer; refused for figures out of range, an unknown kind, and the same offer twice."""
    offer = PartOffer(collection=collection, **dataclasses.asdict(draft))
    refuse_if_any(description_problems(offer))
    offer.save(force_insert=True)
    return offer


@transaction.atomic
def change_offer(*, offer: PartOffer, version: int, changes: Mapping[str, Any]) -> PartOffer:
    """Change an offer; refused as in `add_offer`. Plans made before keep their prices."""
    row = locked_at(offer, version)
    for name, value in changes.items():
        setattr(row, name, value)
    refuse_if_any(description_problems(row))
    row.save()
    return row


@transaction.atomic
def remove_offer(*, offer: PartOffer, version: int) -> None:
    """Remove an offer; plans made before keep its price."""
    locked_at(offer, version).delete()


def description_problems(offer: PartOffer) -> list[Problem]:
    """Tell what is wrong with a row about to be saved, by itself and beside the others."""
    draft = OfferDraft(**{name: getattr(offer, name) for name in COLUMNS})
    return [*offer_problems(draft), *_twice(offer)]


def _twice(offer: PartOffer) -> Iterator[Problem]:
    same = {name: getattr(offer, name) for name in _IDENTITY}
    others = PartOffer.objects.filter(collection=offer.collection_id, **same)
    if others.exclude(pk=offer.pk).exists():
        yield Problem("/name", "is offered by this supplier already; change that offer")


@transaction.atomic
def import_offers(*, collection: Collection, text: str) -> int:
    """Take in a price list (CSV with a header); return how many offers are new or changed.

    All or nothing. An offer that there is already is changed to what the list says, so that the
    same list twice changes nothing. Refused with every bad cell by row and column.
    """
    drafts = read_offers(text)
    stored = {_identity(offer): offer for offer in PartOffer.objects.filter(collection=collection)}
    changed = 0
    for draft in drafts:
        offer = stored.get(_identity(draft))
        if offer is None:
            PartOffer.objects.create(collection=collection, **dataclasses.asdict(draft))
            changed += 1
        elif any(getattr(offer, name) != getattr(draft, name) for name in COLUMNS):
            change_offer(offer=offer, version=offer.version, changes=dataclasses.asdict(draft))
            changed += 1
    return changed


def _identity(row: OfferDraft | PartOffer) -> tuple[str, ...]:
    return tuple(getattr(row, name) for name in _IDENTITY)


def read_offers(text: str) -> list[OfferDraft]:
    """Read a price list; refused with every bad cell by row and column, the header being row 1."""
    reader = csv.DictReader(io.StringIO(text))
    header = [name.strip() for name in reader.fieldnames or ()]
    problems = [Problem("row 1", unknown("column", n, COLUMNS)) for n in header if n not in COLUMNS]
    problems += [Problem("row 1", f"column {n} is missing") for n in _NEEDED if n not in header]
    refuse_if_any(problems)
    drafts: list[OfferDraft] = []
    seen: dict[tuple[str, ...], int] = {}
    for number, cells in enumerate(reader, start=2):
        try:
            draft = _draft({n.strip(): (c or "").strip() for n, c in cells.items() if n})
        except Refused as refused:
            problems += _at_row(refused, number)
            continue
        first = seen.setdefault(_identity(draft), number)
        if first != number:
            problems.append(Problem(f"row {number}", f"says the same offer as row {first}"))
        drafts.append(draft)
    refuse_if_any(problems)
    return drafts


def _at_row(refused: Refused, number: int) -> list[Problem]:
    return [
        Problem(f"row {number}, {one.pointer.lstrip('/') or 'offer'}", one.message)
        for one in refused.problems
    ]


def _draft(cells: Mapping[str, str]) -> OfferDraft:
    problems: list[Problem] = []
    values: dict[str, Any] = {name: text for name, text in cells.items() if text}
    for name in ("price", "quantity", "lead_days", "sold_separately"):
        if name in values:
            try:
                values[name] = _READ[name](values[name])
            except (InvalidOperation, ValueError, KeyError):
                problems.append(Problem(f"/{name}", f"{values.pop(name)!r} is not {_MEANT[name]}"))
                values[name] = _INSTEAD[name]
    for name in _NEEDED:
        if name not in values:
            problems.append(Problem(f"/{name}", "is missing"))
            values[name] = _INSTEAD.get(name, "")
    draft = OfferDraft(**values)
    known = {problem.pointer for problem in problems}
    problems += [one for one in offer_problems(draft) if one.pointer not in known]
    refuse_if_any(problems)
    return draft


_READ: dict[str, Callable[[str], Any]] = {
    "price": Decimal,
    "quantity": int,
    "lead_days": int,
    "sold_separately": {"yes": True, "no": False}.__getitem__,
}
_MEANT = {
    "price": "an amount; write it as 12.50",
    "quantity": "a whole number",
    "lead_days": "a whole number of days",
    "sold_separately": "yes or no",
}
_INSTEAD: dict[str, Any] = {
    "price": Decimal(0),
    "quantity": 1,
    "lead_days": 0,
    "sold_separately": True,
}
