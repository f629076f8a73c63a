"""The due list as stored: read, ordered and given the status of the day, without computing."""

import datetime
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import Case, CharField, F, Q, QuerySet, Value, When

from maintenance.engine.columns import CRITICALITIES
from maintenance.models import DueItem, Vehicle
from maintenance.models.base import Evidence

ORDER = ("criticality_rank", "order_day", "kind", "position", "id")
"""Safety before reliability before appearance, then the due day, then the component."""


def due_list(
    vehicles: QuerySet[Vehicle] | Iterable[Vehicle], *, on: datetime.date
) -> QuerySet[DueItem]:
    """Return the stored due items of some cars in order, each with its `status` on a day.

    The status follows from days kept on the row by the same rules as `engine.status`: nothing is
    computed, and yesterday's status is never shown. One query.
    """
    items = DueItem.objects.filter(vehicle__in=vehicles)
    # mypy: the annotation is what fills the attribute that the model declares.
    return items.annotate(status=status(on)).order_by(*ORDER)  # type: ignore[no-redef]


def status(on: datetime.date) -> Case:
    """Return the status of a stored item on a day, the first that fits."""
    Status = DueItem.Status
    return Case(
        When(no_record=True, then=Value(Status.NO_RECORD)),
        When(_before_use(on), then=Value(Status.BEFORE_USE)),
        When(overdue_from__lte=on, then=Value(Status.OVERDUE)),
        When(falling_due_from__lte=on, then=Value(Status.FALLING_DUE)),
        When(unmeasured=True, then=Value(Status.UNMEASURED)),
        default=Value(Status.IN_DATE),
        output_field=CharField(),
    )


def _before_use(on: datetime.date) -> Q:
    laid_up = Q(laid_up_from__lte=on) & (Q(laid_up_until__isnull=True) | Q(laid_up_until__gt=on))
    due_by_its_end = (
        Q(due_on__lte=on)
        | Q(laid_up_until__isnull=False, due_on__lte=F("laid_up_until"))
        | Q(laid_up_until__isnull=True, due_on__lte=F("expected_to"))
    )
    return Q(storage_care=False) & laid_up & (Q(before_use_from__lte=on) | due_by_its_end)


def as_dict(item: DueItem) -> dict[str, Any]:
    """Return a due item, with its `status` and its `vehicle` loaded, ready to be written as JSON.

    Who put it off is told where `queries.put_offs` has read it.
    Dates are ISO 8601; `due_at_odometer` is in `odometer_unit`.
    """
    return {
        "vehicle": item.vehicle.registration,
        "component": item.kind,
        "position": item.position,
        "rule": item.rule,
        "task": item.task,
        "storage_care": item.storage_care,
        "status": item.status,
        "due_on": _iso(item.due_on),
        "due_at_odometer": number(item.due_at_odometer),
        "odometer_unit": item.vehicle.odometer_unit,
        "governed_by": item.governed_by,
        "earliest_on": _iso(item.earliest_on),
        "latest_on": _iso(item.latest_on),
        "criticality": CRITICALITIES[item.criticality_rank],
        "criteria": item.criteria,
        "sentence": item.sentence,
        "caution": item.caution,
        "source": item.source,
        "put_off_until": item.put_off and _iso(item.put_off.until),
        "put_off_why": item.put_off and item.put_off.why,
        "put_off_by": item.put_off and by_whom(item.put_off),
    }


def by_whom(record: Evidence) -> str:
    """Return who made a record: as the person is known, empty for whoever runs the service."""
    author = record.recorded_by
    return "" if author is None else author.get_full_name() or author.get_username()


def number(value: Decimal | None) -> int | float | None:
    """Return a decimal as a JSON number, whole where it is whole."""
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def _iso(day: datetime.date | None) -> str | None:
    return None if day is None else day.isoformat()
