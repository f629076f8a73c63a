"""Who put which due item off, until when and why: shown beside the item, never instead of it."""

import datetime
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import F

from maintenance.models import DueItem, Postponement

Cycle = tuple[UUID, str, str]
"""A due item in one cycle: its car, its key, and the day its clock started."""


def put_offs(cycles: Iterable[Cycle], *, on: datetime.date) -> Mapping[Cycle, Postponement]:
    """Return the postponements that hold on a day, by the item and cycle they put off. One query.

    One made for an earlier cycle of an item, before the work was done, holds no more.
    """
    wanted = set(cycles)
    rows = Postponement.objects.filter(
        vehicle__in={vehicle for vehicle, _, _ in wanted},
        until__gte=on,
        current=True,
        withdrawn=False,
    ).select_related("recorded_by")
    found = {(row.vehicle_id, row.item_key, row.cycle): row for row in rows}
    return {cycle: found[cycle] for cycle in wanted & found.keys()}


def put_offs_of(items: Iterable[UUID], *, on: Any) -> dict[UUID, Postponement]:
    """Return the postponements that hold of stored due items, by the item's identifier. One query.

    `on` is a day, or an expression that gives the day of each item's collection.
    """
    rows = Postponement.objects.filter(
        vehicle__due_items__in=list(items),
        item_key=F("vehicle__due_items__key"),
        cycle=F("vehicle__due_items__cycle"),
        until__gte=on,
        current=True,
        withdrawn=False,
    )
    return {row.item: row for row in rows.annotate(item=F("vehicle__due_items__pk"))}


def with_put_offs(items: Iterable[DueItem], *, on: datetime.date) -> list[DueItem]:
    """Return due items, stored or not, each with the postponement that holds as `put_off`."""
    listed = list(items)
    found = put_offs((cycle_of(item) for item in listed), on=on)
    for item in listed:
        item.put_off = found.get(cycle_of(item))
    return listed


def cycle_of(item: DueItem) -> Cycle:
    """Return what a postponement of an item is made for."""
    return item.vehicle_id, item.key, item.cycle
