"""Odometer readings as columns: plain ones, those of events and inspections, and changes."""

import datetime
import uuid
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from maintenance.engine.columns import NEW_INSTRUMENT, OLD_INSTRUMENT, PLAIN_READING, Readings
from maintenance.engine.days import to_day
from maintenance.engine.reading_order import Instrument, Odometer, Shown, placed
from maintenance.models import Inspection, OdometerChange, OdometerReading, ServiceEvent, Vehicle
from maintenance.queries.column_steps import current, ints

VAGUE = "known only by its month or year"


def reading_columns(cars: Sequence[Vehicle], place: dict[uuid.UUID, int]) -> Readings:
    """Return what the odometers of some cars showed, whatever record says so. Four queries."""
    plain = list(current(OdometerReading, cars).values_list("vehicle", "on", "value"))
    inspected = current(Inspection, cars).filter(odometer__isnull=False)
    plain += inspected.values_list("vehicle", "on", "odometer")
    changes = list(
        current(OdometerChange, cars).values_list("vehicle", "on", "old_value", "new_value")
    )
    vague: dict[uuid.UUID, list[Shown]] = {}
    events = current(ServiceEvent, cars).filter(odometer__isnull=False)
    for vehicle, on, until, value in events.values_list("vehicle", "on", "until", "odometer"):
        if on == until:
            plain.append((vehicle, on, value))
        else:
            vague.setdefault(vehicle, []).append(_shown(on, until, value, VAGUE))
    plain += _placed(vague, plain, changes, cars)
    rows = [(*row, PLAIN_READING) for row in plain]
    rows += [(vehicle, on, old, OLD_INSTRUMENT) for vehicle, on, old, _ in changes]
    rows += [(vehicle, on, new, NEW_INSTRUMENT) for vehicle, on, _, new in changes]
    return Readings(
        vehicle=ints(place[row[0]] for row in rows),
        day=ints(to_day(row[1]) for row in rows),
        tenths=ints(_tenths(row[2]) for row in rows),
        kind=ints(row[3] for row in rows),
    )


def _shown(
    on: datetime.date,
    until: datetime.date,
    value: Decimal,
    record: str = "",
    instrument: Instrument = Instrument.PLAIN,
) -> Shown:
    return Shown(earliest=on, latest=until, value=value, record=record, instrument=instrument)


def _placed(
    vague: dict[uuid.UUID, list[Shown]],
    plain: list[Any],
    changes: list[Any],
    cars: Sequence[Vehicle],
) -> list[Any]:
    """Put readings of which only the month or year is known on the day that fits the others."""
    found = []
    for car in cars:
        if car.id not in vague:
            continue
        dated = [_shown(on, on, value) for vehicle, on, value in plain if vehicle == car.id]
        for vehicle, on, old, new in changes:
            if vehicle == car.id:
                dated.append(_shown(on, on, old, instrument=Instrument.OLD))
                dated.append(_shown(on, on, new, instrument=Instrument.NEW))
        odometer = Odometer(car.odometer_unit, car.odometer_digits)
        found += [
            (car.id, shown.earliest, shown.value)
            for shown in placed([*dated, *vague[car.id]], odometer)
            if shown.record == VAGUE
        ]
    return found


def _tenths(value: Decimal) -> int:
    return int(value * 10)
