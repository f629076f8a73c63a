"""What else is wrong with a row of which some cells are known to be wrong.

Its other cells are checked all the same, so that one round of mending is enough; what hangs on a
cell that could not be read is left, or a sound cell would be called wrong.
"""

import dataclasses
import datetime
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Final

from maintenance.catalogue.load import catalogue
from maintenance.services.checks.cars import Car
from maintenance.services.checks.service_events import event_problems, measurement_problems
from maintenance.services.drafts import EntryDraft, MeasurementDraft, Place, ServiceEventDraft
from maintenance.services.refusals import Problem
from maintenance.services.spreadsheet.places import in_row, in_rows, where
from maintenance.services.spreadsheet.visits import entry_of

_MEASURED: Final = frozenset(("quantity", "value", "unit"))
#: What can't be told while a cell is wrong: where a part is and goes hangs on all of these.
_HANGS_ON: Final[Mapping[str, frozenset[str]]] = {
    "component": frozenset(("position", "to", "to_vehicle")),
    "position": frozenset(("to",)),
    "action": frozenset(("to", "to_vehicle")),
    "to_vehicle": frozenset(("to",)),
    "registration": frozenset(("to", "to_vehicle")),
}


def further_problems(
    number: int,
    cells: Mapping[str, str],
    wrong: frozenset[str],
    car: Car | None,
    today: datetime.date,
) -> Iterator[Problem]:
    """Tell what is wrong with the cells of a row that are not among the `wrong` columns.

    `car` is the row's, None where it was not found: then only what holds for every car is told.
    """
    untold = wrong.union(*(_HANGS_ON.get(column, ()) for column in wrong))
    row = entry_of(cells)
    entry = row.entry
    if wrong & _MEASURED:
        for problem in measurement_problems(_measurement(cells)):
            column = problem.pointer.lstrip("/")
            if column not in wrong:
                yield in_row(number, column, problem.message)
        entry = dataclasses.replace(entry, measurement=None)
        untold = untold | _MEASURED
    event = ServiceEventDraft(
        on=row.on,
        odometer=row.odometer,
        done_by=row.done_by,
        currency=cells.get("currency", "") if "price" in wrong else row.currency,
        entries=(entry,),
    )
    for problem in event_problems(event, car or _any_car(entry), today):
        for told in in_rows(problem, [number]):
            if where(told)[1] not in untold:
                yield told


def _measurement(cells: Mapping[str, str]) -> MeasurementDraft:
    """Return what was measured, with something harmless in place of what is wrong or absent."""
    quantity = cells.get("quantity", "")
    known = catalogue().quantities.get(quantity)
    unit = cells.get("unit") or (known.unit if known else "")
    return MeasurementDraft(quantity=quantity, value=Decimal(cells.get("value") or 0), unit=unit)


def _any_car(entry: EntryDraft) -> Car:
    """Return a car that has what the row names, for the checks that hold for every car."""
    place = entry.place if entry.place.kind in catalogue().kinds else Place("")
    return Car(registration="", odometer_unit="km", odometer_digits=6, components={place: None})
