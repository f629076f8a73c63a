"""Small steps that every reader of columns takes."""

import datetime
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from django.db.models import QuerySet

from maintenance.engine.columns import Ints
from maintenance.engine.days import NO_DAY, to_day
from maintenance.models import Vehicle


def ints(values: Iterable[int]) -> Ints:
    """Return whole numbers as a column."""
    return np.fromiter(values, dtype=np.int64)


def day(date: datetime.date | None) -> int:
    """Return a date as the engine's day, NO_DAY where there is none."""
    return int(NO_DAY) if date is None else to_day(date)


def current(model: type[Any], cars: Sequence[Vehicle]) -> QuerySet[Any]:
    """Return the records of some cars that are in force: neither superseded nor withdrawn."""
    rows: QuerySet[Any] = model.objects.filter(vehicle__in=cars, current=True, withdrawn=False)
    return rows
