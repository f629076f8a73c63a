"""What the rows of one car add to it, and what is wrong with them."""

import datetime
import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from maintenance.engine.reading_order import Odometer, Shown
from maintenance.services.checks import odometer
from maintenance.services.checks.cars import Car
from maintenance.services.checks.readings import contradiction_problems
from maintenance.services.checks.service_events import event_problems
from maintenance.services.drafts import ServiceEventDraft
from maintenance.services.history_file.contents import CarContents
from maintenance.services.history_file.stored import StoredCar
from maintenance.services.refusals import Problem
from maintenance.services.spreadsheet.known_cars import KnownCars
from maintenance.services.spreadsheet.places import in_row, in_rows
from maintenance.services.spreadsheet.visits import SheetEntry, Visit, entries_of, entry_of, visits
from maintenance.services.spreadsheet.wrong_rows import further_problems

Cells = Mapping[str, str]
#: Beside the cells of a row: why the car to which its part goes was not found.
UNKNOWN_CAR: Final = "unknown_car"
#: Beside the cells of a row: which columns of it were told of already, with commas between.
WRONG: Final = "wrong"


@dataclass
class Additions:
    """The service events that rows make, and how many of the rows are there already."""

    visits: list[Visit] = field(default_factory=list)
    entries: int = 0
    already_there: int = 0
    warnings: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def additions(
    stored: StoredCar,
    given: Mapping[int, Cells],
    known: KnownCars,
    odometer_unit: str | None,
    today: datetime.date,
) -> Additions:
    """Return what a car's rows, by their numbers, add to it; checked one by one and together.

    What is there already, or was and has been corrected or withdrawn since, is not looked at
    again: it may be of a car that the importer no longer writes to.
    """
    found = Additions()
    car = known.facts(stored.row)
    for number, cells in given.items():
        if WRONG in cells:
            wrong = frozenset(cells[WRONG].split(","))
            found.problems += further_problems(number, cells, wrong, car, today)
    if odometer_unit not in (None, car.odometer_unit):
        of_other_unit = list(_of_other_unit(given, car, odometer_unit))
        found.problems += of_other_unit
        if of_other_unit:
            return found
    given = {number: cells for number, cells in given.items() if WRONG not in cells}
    new = _new(stored, given, found)
    found.visits = visits(new)
    found.problems += _problems(found.visits, car, stored.contents, today)
    found.problems += _closed(new, car, known)
    found.entries = len(new)
    return found


def _of_other_unit(
    given: Mapping[int, Cells], car: Car, odometer_unit: str | None
) -> Iterator[Problem]:
    text = (
        f"the odometer of {car.registration} counts {car.odometer_unit}, and the sheet is "
        f"stated to be in {odometer_unit}; put the car into a sheet of its own"
    )
    for row, cells in given.items():
        if cells.get("odometer"):
            yield in_row(row, "odometer", text)


def _new(
    stored: StoredCar, given: Mapping[int, Cells], found: Additions
) -> list[tuple[int, SheetEntry]]:
    """Return the rows that are not there yet; what is odd about the rest goes to `found`."""
    there = Counter(entries_of(_events(stored)))
    new = []
    seen: dict[object, int] = {}
    for number, cells in given.items():
        row = entry_of(cells)
        if row in seen:
            text = f"row {number} says the same as row {seen[row]}; it counts as a second entry"
            found.warnings.append(text)
        seen.setdefault(row, number)
        if there[row] > 0:
            there[row] -= 1
            found.already_there += 1
        elif UNKNOWN_CAR in cells:
            found.problems.append(in_row(number, "to_vehicle", cells[UNKNOWN_CAR]))
        else:
            new.append((number, row))
    return new


def _events(stored: StoredCar) -> Iterator[ServiceEventDraft]:
    # A sheet from before a correction must not bring the error back.
    return itertools.chain(stored.contents.service_events, stored.superseded.service_events)


def _closed(new: Sequence[tuple[int, SheetEntry]], car: Car, known: KnownCars) -> Iterator[Problem]:
    for number, row in new:
        to = row.entry.to
        if car.registration in known.closed:
            yield in_row(number, "registration", known.closed[car.registration])
        if to is not None and to.vehicle in known.closed:
            yield in_row(number, "to_vehicle", known.closed[to.vehicle])


def _problems(
    made: Sequence[Visit], known: Car, stored: CarContents, today: datetime.date
) -> Iterator[Problem]:
    sound = []
    for visit in made:
        found = [*event_problems(visit.event(), known, today)]
        for problem in found:
            yield from in_rows(problem, visit.rows)
        if not found:
            sound.append(visit)
    added: list[Shown] = []
    for visit in sound:
        added += odometer.shown_by_event(visit.draft, prefix=f"/rows/{visit.rows[0]}")
    if added:
        before = _shown(stored)
        yield from contradiction_problems(
            before=before,
            after=[*before, *added],
            odometer=Odometer(known.odometer_unit, known.odometer_digits),
        )


def _shown(stored: CarContents) -> list[Shown]:
    shown: list[Shown] = []
    for reading in stored.odometer_readings:
        shown += odometer.shown_by_reading(reading)
    for change in stored.odometer_changes:
        shown += odometer.shown_by_change(change)
    for event in stored.service_events:
        shown += odometer.shown_by_event(event)
    for inspection in stored.inspections:
        shown += odometer.shown_by_inspection(inspection)
    return shown
