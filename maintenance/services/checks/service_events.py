"""What is wrong with a service event and with each of its entries."""

import datetime
import re
from collections import Counter
from collections.abc import Iterator

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import ACTIONS
from maintenance.engine.stated_days import StatedDay, read_day
from maintenance.services.checks.cars import Car, day_problems, place_problems
from maintenance.services.checks.figures import (
    money_problems,
    odometer_problems,
    shown,
    text_problems,
)
from maintenance.services.checks.manufacture import manufacture_problems
from maintenance.services.checks.moves import destination_problems, exchange_problems
from maintenance.services.drafts import EntryDraft, MeasurementDraft, ServiceEventDraft
from maintenance.services.refusals import Problem

_CURRENCY = re.compile(r"[A-Z]{3}")
_DECIMALS_KEPT = 4


def event_problems(draft: ServiceEventDraft, car: Car, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with a service event by itself, its entries included."""
    days = None
    try:
        days = read_day(draft.on)
    except ValueError as refusal:
        yield Problem("/on", str(refusal) if draft.on else "is missing")
    else:
        yield from day_problems("/on", days, car, today)
    yield from odometer_problems(
        "/odometer", draft.odometer, digits=car.odometer_digits, unit=car.odometer_unit
    )
    yield from text_problems("/done_by", draft.done_by, longest=120)
    yield from text_problems("/note", draft.note)
    yield from _cost_problems(draft)
    for place, entry in enumerate(draft.entries):
        for problem in entry_problems(entry, car, days):
            yield problem.under(f"/entries/{place}")
    yield from _repeated_entries(draft)
    yield from exchange_problems(draft)


def entry_problems(draft: EntryDraft, car: Car, days: StatedDay | None) -> Iterator[Problem]:
    """Tell what is wrong with an entry of an event on the given days, where those are known."""
    yield from place_problems("", draft.place, car)
    if not draft.action:
        yield Problem("/action", "is missing; say what was done")
    elif draft.action not in ACTIONS:
        yield Problem("/action", unknown("action", draft.action, ACTIONS))
    elif draft.action == "measure" and draft.measurement is None:
        yield Problem("/measurement", "is missing; give what was measured, or the action inspect")
    yield from manufacture_problems(draft, days)
    yield from text_problems("/part_number", draft.part_number, longest=80)
    yield from text_problems("/supplier", draft.supplier, longest=120)
    yield from text_problems("/note", draft.note)
    yield from money_problems("/price", draft.price)
    if draft.measurement is not None:
        for problem in measurement_problems(draft.measurement):
            yield problem.under("/measurement")
    yield from _carried_over_problems(draft, car)
    yield from destination_problems(draft, car)


def _cost_problems(draft: ServiceEventDraft) -> Iterator[Problem]:
    yield from money_problems("/cost", draft.cost)
    if draft.currency and not _CURRENCY.fullmatch(draft.currency):
        yield Problem(
            "/currency",
            f"{draft.currency!r} is no currency; give the three letters of ISO 4217, such as EUR",
        )
    elif draft.cost is not None and not draft.currency:
        yield Problem("/currency", "is missing; a cost needs its currency, such as EUR")


def measurement_problems(draft: MeasurementDraft) -> Iterator[Problem]:
    """Tell what is wrong with a measurement by itself."""
    quantities = catalogue().quantities
    quantity = quantities.get(draft.quantity)
    if quantity is None:
        yield Problem(
            "/quantity",
            unknown("quantity", draft.quantity, quantities.keys())
            if draft.quantity
            else "is missing",
        )
        return
    if draft.unit != quantity.unit:
        yield Problem(
            "/unit",
            f"{draft.unit!r} is not the unit of {quantity.slug}; give it in {quantity.unit!r}",
        )
    elif refusal := quantity.refusal(draft.value):
        yield Problem("/value", refusal)
    elif draft.value != round(draft.value, _DECIMALS_KEPT):
        yield Problem(
            "/value",
            f"{shown(draft.value)} has more than the {_DECIMALS_KEPT} decimals kept; round it",
        )


def _carried_over_problems(draft: EntryDraft, car: Car) -> Iterator[Problem]:
    if draft.carried_over and draft.action != "renew":
        yield Problem("/carried_over", "is for the action renew only; leave it out")
        return
    for place, part in enumerate(draft.carried_over):
        pointer = f"/carried_over/{place}"
        if part in draft.carried_over[:place]:
            yield Problem(pointer, f"{part} stands twice; take one out")
        elif part not in car.components:
            yield from place_problems(pointer, part, car)
        elif not car.is_part_of(part, draft.place):
            yield Problem(
                pointer,
                f"{part} is not part of {draft.place}; only parts of the assembly renewed can "
                "be carried over",
            )


def _repeated_entries(draft: ServiceEventDraft) -> Iterator[Problem]:
    times = Counter(draft.entries)
    for place, entry in enumerate(draft.entries):
        if times[entry] > 1 and entry in draft.entries[:place]:
            yield Problem(
                f"/entries/{place}",
                f"says the same as an entry before it ({entry.action} {entry.place}); take one out",
            )
