"""A batch of one car as it would be if something came to pass: frozen columns, rows appended.

Nothing is saved here or later: each function returns a copy. The engine then answers it by the
same code as the records themselves.
"""

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np

from maintenance.engine.columns import (
    ACTIONS,
    PLAIN_READING,
    Batch,
    CarriedOver,
    Components,
    Entries,
    Ints,
    Items,
)
from maintenance.engine.context import Context
from maintenance.engine.days import NO_DAY
from maintenance.engine.odometer import has_reading, shown_at

Table = TypeVar("Table")


def with_return(batch: Batch, day: int) -> Batch:
    """Return the batch with the lay-up that lasts ended on a day.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    day : int
        First day back in use [days since 1970-01-01]; a lay-up that begins on it or later is
        left out.

    Returns
    -------
    Batch
        A copy; the same where no lay-up lasts. Cars after the first, from which parts came, stand
        as they stood.

    References
    ----------
    .. [1] Common practice: a lay-up is half-open, the day it ends is a day in use.
    """
    lay_ups = batch.lay_ups
    lasting = (lay_ups.end == NO_DAY) & (lay_ups.vehicle == 0)
    ended = replace(
        lay_ups,
        end=np.where(lasting, day, lay_ups.end),
        expected=np.where(lasting, NO_DAY, lay_ups.expected),
    )
    kept = np.flatnonzero(~lasting | (ended.start < day))
    return replace(batch, lay_ups=_taken(ended, kept))


def with_lay_up(batch: Batch, start: int, end: int, grade: int) -> Batch:
    """Return the batch with one lay-up more.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    start, end : int
        The half-open period [days since 1970-01-01].
    grade : int
        Storage grade, a place in `GRADES`.

    Returns
    -------
    Batch
        A copy. That the period overlaps no other is the caller's to see to.

    References
    ----------
    .. [1] Common practice.
    """
    row = {"vehicle": 0, "start": start, "end": end, "expected": NO_DAY, "grade": grade}
    return replace(batch, lay_ups=_with_row(batch.lay_ups, row))


def with_work(batch: Batch, work: Sequence[tuple[int, str, int]]) -> Batch:
    """Return the batch with entries more, later than all others of their days.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    work : sequence of (int, str, int)
        Row of the component, one of `ACTIONS`, and the day [days since 1970-01-01] of each.

    Returns
    -------
    Batch
        A copy.

    References
    ----------
    .. [1] Common practice.
    """
    entries = batch.entries
    component, action, day = (
        np.array(column, dtype=np.int64)
        for column in (
            [component for component, _, _ in work],
            [ACTIONS.index(action) for _, action, _ in work],
            [day for _, _, day in work],
        )
    )
    order = int(entries.order.max(initial=-1)) + 1 + np.arange(day.size)
    event = int(entries.event.max(initial=-1)) + 1 + np.arange(day.size)
    nowhere = np.full(day.size, -1, dtype=np.int64)
    undated = np.full(day.size, NO_DAY)
    more = Entries(component, day, order, action, undated, day, event, nowhere)
    columns = {
        field.name: np.concatenate([getattr(entries, field.name), getattr(more, field.name)])
        for field in fields(Entries)
    }
    return replace(batch, entries=Entries(**columns))


def with_pass(batch: Batch, day: int) -> Batch:
    """Return the batch with a passed roadworthiness inspection more.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    day : int
        Day of the test [days since 1970-01-01].

    Returns
    -------
    Batch
        A copy; the certificate runs as the car's regime reckons it.

    References
    ----------
    .. [1] Directive 2014/45/EU, Article 5.
    """
    row = {"vehicle": 0, "day": day, "passed": True, "expires": NO_DAY}
    return replace(batch, inspections=_with_row(batch.inspections, row))


def with_reading_today(batch: Batch, shared: Context) -> Batch:
    """Return the batch with the reading that the odometer shows by the forecast today.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    shared : Context
        The same records as known on the day asked about.

    Returns
    -------
    Batch
        A copy, so that a distance to come counts from that day and not from the latest reading;
        the same where the car has no reading, or one of that day.

    References
    ----------
    .. [1] Common practice.
    """
    car = np.array([0])
    own = batch.readings.vehicle == 0
    read_today = bool((own & (batch.readings.day == shared.on)).any())
    if read_today or not shared.distance.day.size or not has_reading(shared.distance, car)[0]:
        return batch
    travelled = shared.travelled(car, np.array([shared.on]))
    row = {
        "vehicle": 0,
        "day": shared.on,
        "tenths": int(shown_at(shared.distance, batch.vehicles, car, travelled)[0]),
        "kind": PLAIN_READING,
    }
    return replace(batch, readings=_with_row(batch.readings, row))


def with_stages(batch: Batch, stages: Sequence[Sequence[tuple[int, str, int]]]) -> Batch:
    """Return the batch with its components once for each stage of the work, side by side.

    Parameters
    ----------
    batch : Batch
        The records of one car.
    stages : sequence of sequences of (int, str, int)
        For each stage the entries done by then: component, action and day [days since 1970-01-01].

    Returns
    -------
    Batch
        Components, entries, measurements and items as many times as there are stages, one after
        the other; the car, its lay-ups and readings once.

    References
    ----------
    .. [1] Common practice.
    """
    rows, times = batch.components.vehicle.size, len(stages)
    entries = batch.entries.day.size
    events = int(batch.entries.event.max(initial=-1)) + 1
    assembly = _shifted(batch.components.assembly, rows, times)
    moved_to = _shifted(batch.entries.moved_to, rows, times)
    done = replace(
        batch,
        components=Components(
            np.tile(batch.components.vehicle, times),
            np.where(np.tile(batch.components.assembly, times) < 0, -1, assembly),
            np.tile(batch.components.storage, times),
        ),
        entries=replace(
            _repeated(batch.entries, times),
            component=_shifted(batch.entries.component, rows, times),
            event=_shifted(batch.entries.event, events, times),
            moved_to=np.where(np.tile(batch.entries.moved_to, times) < 0, -1, moved_to),
        ),
        carried_over=CarriedOver(
            _shifted(batch.carried_over.entry, entries, times),
            _shifted(batch.carried_over.component, rows, times),
        ),
        measurements=replace(
            _repeated(batch.measurements, times),
            component=_shifted(batch.measurements.component, rows, times),
        ),
        items=Items(_shifted(batch.items.component, rows, times), np.tile(batch.items.rule, times)),
    )
    work = [
        (number * rows + component, action, day)
        for number, stage in enumerate(stages)
        for component, action, day in stage
    ]
    return with_work(done, work)


def _shifted(column: Ints, by: int, times: int) -> Ints:
    """Return a column of row numbers repeated, each time counted further on."""
    return (column[None, :] + by * np.arange(times)[:, None]).ravel()


def _repeated(table: Table, times: int) -> Table:
    columns: dict[str, Any] = {
        field.name: np.tile(getattr(table, field.name), times)
        for field in fields(table)  # type: ignore[arg-type]
    }
    return type(table)(**columns)


def _taken(table: Table, rows: Ints) -> Table:
    columns: dict[str, Any] = {
        field.name: getattr(table, field.name)[rows]
        for field in fields(table)  # type: ignore[arg-type]
    }
    return type(table)(**columns)


def _with_row(table: Table, row: dict[str, Any]) -> Table:
    columns: dict[str, Any] = {
        field.name: np.append(getattr(table, field.name), row[field.name])
        for field in fields(table)  # type: ignore[arg-type]
    }
    return type(table)(**columns)
