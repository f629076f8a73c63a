"""What is wrong with a reading or a change of instrument by itself."""

import datetime
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from maintenance.engine.reading_order import Instrument, Shown
from maintenance.engine.stated_days import StatedDay, read_day
from maintenance.services.checks.cars import Car, day_problems, one_day
from maintenance.services.checks.figures import odometer_problems
from maintenance.services.drafts import (
    InspectionDraft,
    OdometerChangeDraft,
    ReadingDraft,
    ServiceEventDraft,
)
from maintenance.services.refusals import Problem


def reading_problems(draft: ReadingDraft, car: Car, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with a reading by itself."""
    yield from day_problems("/on", one_day(draft.on), car, today)
    yield from odometer_problems(
        "/value", draft.value, digits=car.odometer_digits, unit=car.odometer_unit
    )


def change_problems(
    draft: OdometerChangeDraft, car: Car, today: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with a change of instrument by itself."""
    yield from day_problems("/on", one_day(draft.on), car, today)
    for name, value in (("old_value", draft.old_value), ("new_value", draft.new_value)):
        yield from odometer_problems(
            f"/{name}", value, digits=car.odometer_digits, unit=car.odometer_unit
        )


def shown_by_reading(draft: ReadingDraft, prefix: str | None = None) -> list[Shown]:
    """Return what a reading says the odometer showed; a new one has a prefix that leads to it."""
    return [_shown(one_day(draft.on), draft.value, f"reading of {draft.on}", prefix, "/value")]


def shown_by_change(draft: OdometerChangeDraft, prefix: str | None = None) -> list[Shown]:
    """Return what both instruments showed on the day of a change."""
    day = one_day(draft.on)
    old = _shown(day, draft.old_value, f"old instrument on {draft.on}", prefix, "/old_value")
    new = _shown(day, draft.new_value, f"new instrument on {draft.on}", prefix, "/new_value")
    return [replace(old, instrument=Instrument.OLD), replace(new, instrument=Instrument.NEW)]


def shown_by_event(draft: ServiceEventDraft, prefix: str | None = None) -> list[Shown]:
    """Return what a service event says the odometer showed, on whichever of its days."""
    if draft.odometer is None:
        return []
    record = f"service event of {draft.on}"
    return [_shown(read_day(draft.on), draft.odometer, record, prefix, "/odometer")]


def shown_by_inspection(draft: InspectionDraft, prefix: str | None = None) -> list[Shown]:
    """Return what an inspection says the odometer showed."""
    if draft.odometer is None:
        return []
    record = f"inspection of {draft.on}"
    return [_shown(one_day(draft.on), draft.odometer, record, prefix, "/odometer")]


def _shown(days: StatedDay, value: Decimal, record: str, prefix: str | None, name: str) -> Shown:
    return Shown(
        earliest=days.earliest,
        latest=days.latest,
        value=value,
        record=record,
        pointer="" if prefix is None else prefix + name,
    )
