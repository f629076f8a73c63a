"""Import a sheet of entries: all of it or nothing, and nothing that is there already."""

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from maintenance.models import Account, Collection, Entry, Vehicle
from maintenance.queries.moves import Links, in_chunks, linked_groups, links_within
from maintenance.services.cars import lock_all
from maintenance.services.history_file.stored import CHUNK
from maintenance.services.moves import impossible_moves
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused
from maintenance.services.rows import Batch, Origin, event_rows
from maintenance.services.spreadsheet.additions import UNKNOWN_CAR, WRONG, Additions, additions
from maintenance.services.spreadsheet.cars import Found, Marks, cars_to_record_on
from maintenance.services.spreadsheet.cells import read_cells
from maintenance.services.spreadsheet.known_cars import KnownCars
from maintenance.services.spreadsheet.places import in_row, where
from maintenance.services.spreadsheet.sheet import Sheet, SheetOptions, formulas, open_sheet
from maintenance.services.spreadsheet.spool import Spool
from maintenance.services.spreadsheet.visits import Visit
from maintenance.services.spreadsheet.wrong_rows import further_problems

READING, WRITING = "reading", "writing"
#: Told of the phase, the rows done in it, and of how many where that is known.
Progress = Callable[[str, int, int | None], None]
_TOLD_EVERY = 1_000
_GONE: Final = "the car was removed while the sheet was read; look it up and send the sheet again"


@dataclass
class EntriesReport:
    """What an import did, or with `dry_run` would do, and how the headings were understood."""

    collection: str
    dry_run: bool
    headings: dict[str, str]
    rows: int = 0
    entries_added: int = 0
    events_added: int = 0
    already_there: int = 0
    warnings: list[str] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class _Task:
    """What is the same for every car of one import."""

    collection: Collection
    origin: Origin
    today: datetime.date
    odometer_unit: str | None
    report: EntriesReport
    problems: list[Problem]

    def take(self, added: Additions) -> None:
        """Count what a car's rows add, and keep what is wrong with them."""
        self.problems.extend(added.problems)
        self.report.warnings += added.warnings
        self.report.already_there += added.already_there
        if not added.problems:
            self.report.entries_added += added.entries
            self.report.events_added += len(added.visits)


def import_entries(
    *,
    raw: bytes,
    options: SheetOptions,
    collection: Collection,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
    dry_run: bool = False,
    progress: Progress = lambda phase, done, total: None,
    settle: Callable[[EntriesReport], None] = lambda report: None,
) -> EntriesReport:
    """Import a sheet of entries into a collection, on cars that `by` may record on.

    The sheet is read once, row by row, and put aside on disk; then each car's rows become service
    events. All is written in one transaction, which first locks the cars it adds to, those to
    which parts go, and those that they exchanged parts with; a dry run writes as well and takes
    everything back. An entry that is there already, or was and has been
    corrected or withdrawn since, is not added again. `settle` is called last in the transaction,
    to keep what the import did together with it; a dry run leaves it out.

    Cars between which parts went are checked, written and recomputed together, their visits in
    the order of the sheet; otherwise a few hundred cars at a time.

    Refused, with every bad row at once: see `open_sheet`, `read_cells` and the checks of service
    events; and a move that, with all that is recorded then, can't have happened.
    """
    sheet = open_sheet(raw, options)
    report = EntriesReport(collection.name, dry_run, dict(sheet.matched.headings))
    report.warnings += [f"the column {name!r} is not taken in" for name in sheet.matched.left_aside]
    cars = cars_to_record_on(collection, by)
    task = _Task(
        collection=collection,
        origin=Origin(by=by, at=at),
        today=today,
        odometer_unit=options.odometer_unit,
        report=report,
        problems=[],
    )
    with Spool() as spool:
        _put_aside(sheet, options.date_order, Marks(cars), spool, task, progress)
        progress(WRITING, 0, report.rows)
        with transaction.atomic():
            _import_cars(cars, spool, task, progress)
            if task.problems:
                # Raised within the transaction, so that what sound cars got is taken back.
                raise Refused(_in_order(task.problems))
            if dry_run:
                transaction.set_rollback(True)
            else:
                settle(report)
    return report


def _put_aside(
    sheet: Sheet,
    date_order: str | None,
    marks: Marks,
    spool: Spool,
    task: _Task,
    progress: Progress,
) -> None:
    """Read every row into the spool, marked where cells are wrong; these go to the task."""
    for number, given in sheet.rows:
        problems = formulas(number, given)
        formula = [where(problem)[1] for problem in problems]
        cells, wrong = read_cells(number, given, date_order, formula)
        problems += wrong
        mark = cells.pop("registration", "")
        try:
            car = marks.find(mark) if mark else None
        except ValueError as unknown:
            car = None
            problems.append(in_row(number, "registration", str(unknown)))
        goes_to = _find_destination(cells, car, marks)
        if problems and UNKNOWN_CAR in cells:
            problems.append(in_row(number, "to_vehicle", cells[UNKNOWN_CAR]))
        told = frozenset(where(problem)[1] for problem in problems)
        if car is None:
            problems += further_problems(number, cells, told, None, task.today)
        else:
            # Checked further with the car's own rows, once it is known what the car has.
            aside = {WRONG: ",".join(sorted(told))} if told else {}
            spool.add(car.pk, number, cells | aside, goes_to)
        task.problems.extend(problems)
        task.report.rows += 1
        if task.report.rows % _TOLD_EVERY == 0:
            progress(READING, task.report.rows, None)
    progress(READING, task.report.rows, task.report.rows)


def _find_destination(cells: dict[str, str], car: Found | None, marks: Marks) -> UUID | None:
    """Write the mark of the car to which a part goes as it is kept; return that car.

    None where the part stays on its car. One that is not found is told of once it is known that
    the row is not on record already.
    """
    mark = cells.get("to_vehicle")
    if not mark:
        return None
    try:
        other = marks.find(mark)
    except ValueError as unknown:
        cells[UNKNOWN_CAR] = str(unknown)
        return None
    if other == car:
        # As if the car were not named; the only place of its kind is then named by the kind.
        cells |= {"to_vehicle": "", "to": cells.get("to") or cells.get("component", "")}
        return None
    cells["to_vehicle"] = other.registration
    return other.pk


def _import_cars(cars: QuerySet[Vehicle], spool: Spool, task: _Task, progress: Progress) -> None:
    """Check and write some cars at a time; one bad row stops the writing."""
    in_order = spool.cars()
    with_rows = set(in_order)
    groups = linked_groups(in_order, _links(spool, task.collection))
    # All of them before the first is written, in the one order: two imports at once cannot each
    # hold what the other waits for.
    lock_all(pk for group in groups for pk in group)
    done = 0
    for chunk in in_chunks(groups, CHUNK):
        known = KnownCars(cars, [pk for group in chunk for pk in group])
        for pk in known.missing(with_rows):
            task.problems.extend(in_row(row, "registration", _GONE) for row, _ in spool.rows_of(pk))
        made: list[tuple[Vehicle, Visit]] = []
        for stored in known.stored(with_rows):
            rows = dict(spool.rows_of(stored.row.pk))
            done += len(rows)
            added = additions(stored, rows, known, task.odometer_unit, task.today)
            task.take(added)
            made += [(stored.row, visit) for visit in added.visits]
            if done % _TOLD_EVERY < len(rows):
                progress(WRITING, done, task.report.rows)
        if made and not task.problems:
            task.problems.extend(_write(made, known, task))
    progress(WRITING, done, task.report.rows)


def _links(spool: Spool, collection: Collection) -> Links:
    """Return between which cars parts went or go, by what is recorded or in the sheet."""
    links = links_within([collection.pk])
    for car, other in spool.moves():
        links.setdefault(car, set()).add(other)
        links.setdefault(other, set()).add(car)
    return links


def _write(made: Sequence[tuple[Vehicle, Visit]], known: KnownCars, task: _Task) -> list[Problem]:
    """Write visits of cars and recompute these; return which moves can't have happened."""
    batch, pointers = Batch(), {}
    places = known.places_on(
        entry.to.vehicle for _, visit in made for entry in visit.entries if entry.to
    )
    # In the order of the sheet also from car to car: which of two deeds of one day came first can
    # decide whether a part was there to be moved.
    for vehicle, visit in sorted(made, key=lambda pair: pair[1].rows[0]):
        components = known.components[vehicle.pk]
        event, rest = event_rows(visit.event(), vehicle, components, task.origin, places)
        batch.add(event, *rest)
        for row in rest:
            if isinstance(row, Entry) and row.moved_to_id:
                pointers[row.pk] = f"/rows/{visit.rows[row.sequence]}"
    batch.write()
    touched = list({vehicle.pk: vehicle for vehicle, _ in made}.values())
    problems = impossible_moves(touched, today=task.today, pointers=pointers)
    if not problems:
        recompute_vehicles(vehicles=touched, on=task.today)
    return problems


def _in_order(problems: Sequence[Problem]) -> list[Problem]:
    """Return problems by row, each once: rows of one visit share its mistakes."""
    return sorted(dict.fromkeys(problems), key=lambda problem: (where(problem)[0] or 0, problem))
