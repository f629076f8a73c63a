"""Import a history file: all of it or nothing, and nothing that is there already."""

import dataclasses
import datetime
import itertools
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from maintenance.models import Account, Collection, IntervalRule, Member, Vehicle
from maintenance.queries.access import sight_of
from maintenance.queries.marks import bare_mark, with_marks
from maintenance.services.checks.cars import Car
from maintenance.services.collections import collection_problems
from maintenance.services.history_file import check, put_offs
from maintenance.services.history_file.cars_concerned import lock_cars
from maintenance.services.history_file.closed_cars import closed_destinations
from maintenance.services.history_file.compare import DESCRIPTIONS, RECORDS, FileCar, compare
from maintenance.services.history_file.contents import car_contents, stated_fields
from maintenance.services.history_file.due_item_names import asked_by
from maintenance.services.history_file.own_rules import FileRules, read_rules, rule_rows
from maintenance.services.history_file.shape import CollectionRow, HistoryFile
from maintenance.services.history_file.stored import stored_cars
from maintenance.services.history_file.write import CarWriter
from maintenance.services.moves import impossible_moves
from maintenance.services.recompute import CHUNK, recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rows import Batch, Origin

Progress = Callable[[int], None]


@dataclass
class ImportReport:
    """What an import did, or with `dry_run` would do: counts by noun, and what looked odd."""

    collection: str
    dry_run: bool
    added: Counter[str] = field(default_factory=Counter)
    already_there: Counter[str] = field(default_factory=Counter)
    warnings: list[str] = field(default_factory=list)


@transaction.atomic
def import_history(
    *,
    document: dict[str, Any],
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
    dry_run: bool = False,
    collection: Collection | None = None,
    progress: Progress = lambda cars: None,
) -> ImportReport:
    """Import the tree of a history file, as `read.read_document` returns it.

    Into `collection`, else into the one that the file names: of those in which `by` may record
    (of all, where `by` is None), or a new one. One transaction; cars of the file that are there
    already are locked. Only records that are not there yet are added, so that the same file
    twice adds nothing; an open lay-up of which the file tells more is superseded. A dry run
    writes as well, constraints and all, and takes everything back.

    Refused, with every error at once: see `check` and the services of the single nouns.
    `progress` is told of cars of the file as they are done, how many each time.
    """
    file = HistoryFile.model_validate(document)
    faults = list(file.faults(""))
    target, problems = _target(file.collection or CollectionRow(), collection, by)
    cars, knowledge = _compared(file, target)
    writer = CarWriter(target, Origin(by=by, at=at))
    writer.know(cars)
    rules = _rules(file, target, cars, knowledge, writer)
    problems += [*rules.problems, *_problems(cars, knowledge, today)]
    problems += closed_destinations(cars, target)
    problems += _put_off_problems(target, cars, knowledge, rules, writer, today)
    refuse_if_any(_all_problems(faults, problems, cars, knowledge))
    report = ImportReport(target.name, dry_run, warnings=[*rules.warnings])
    for car in cars:
        report.warnings += check.car_warnings(car)
    _write(target, by, cars, rules, writer, report)
    _refuse_impossible_moves(cars, writer, today)
    report.warnings += put_offs.idle_warnings(writer.put_off, today)
    if dry_run:
        transaction.set_rollback(True)
    else:
        _recompute(target, cars, rules, writer, today, progress)
    return report


def _target(
    row: CollectionRow, collection: Collection | None, by: Account | None
) -> tuple[Collection, list[Problem]]:
    """Return the collection to import into, not yet saved if new, and what is wrong with it."""
    found = [collection] if collection is not None else _named(row.name or "", by)
    if len(found) > 1:
        text = "is the name of more than one collection; say which is meant, or rename one"
        return found[0], [Problem("/collection/name", f"{row.name!r} {text}")]
    if found:
        return found[0], [*_differences(row, found[0])]
    made = Collection(
        name=row.name or "",
        time_zone=row.time_zone or "UTC",
        distance_unit=row.distance_unit or "km",
    )
    problems = collection_problems(
        name=made.name, time_zone=made.time_zone, distance_unit=made.distance_unit
    )
    return made, [problem.under("/collection") for problem in problems]


def _named(name: str, by: Account | None) -> list[Collection]:
    found = Collection.objects.filter(name=name)
    if by is not None:
        found = found.filter(pk__in=sight_of(by).collections_to("add a history file", "imports"))
    return list(found[:2])


def _differences(row: CollectionRow, collection: Collection) -> Iterator[Problem]:
    for name in ("time_zone", "distance_unit"):
        given, have = getattr(row, name), getattr(collection, name)
        if given is not None and given != have:
            text = f"{given!r} differs from {have!r} of the collection; change it there, or here"
            yield Problem(f"/collection/{name}", text)


def _compared(file: HistoryFile, target: Collection) -> tuple[list[FileCar], list[Car]]:
    """Return the cars of the file beside the stored ones, and what the checks know of each."""
    if not target._state.adding:
        # Two imports at a time would each find a car absent and both add it.
        Collection.objects.select_for_update(no_key=True).get(pk=target.pk)
        rows = [car_contents(row) for row in file.vehicles or ()]
        lock_cars(rows, target, whole=bool(file.interval_rules))
    cars = _cars(file, target)
    by_mark: dict[str, Car | None] = {}

    def other_car(registration: str) -> Car | None:
        """Look a car up to which a part goes: in the file, else among the stored ones."""
        if registration not in by_mark:
            by_mark[registration] = _stored_car(registration, target)
        return by_mark[registration]

    knowledge = [dataclasses.replace(check.car_of_file(car), other_car=other_car) for car in cars]
    by_mark |= {facts.registration: facts for facts in knowledge}
    for car, facts in zip(cars, knowledge, strict=True):
        check.settle_places(car, facts)
        compare(car)
    return cars, knowledge


def _stored_car(registration: str, target: Collection) -> Car | None:
    if target._state.adding:
        return None
    rows = Vehicle.objects.filter(collection=target, registration=registration)
    for stored in stored_cars(rows):
        return check.car_of_file(FileCar("", stored.contents, set(), stored))
    return None


def _refuse_impossible_moves(
    cars: Sequence[FileCar], writer: CarWriter, today: datetime.date
) -> None:
    """Refuse moves that, beside all that is recorded now, can't have happened."""
    touched = [writer.vehicle(car) for car in cars if car.stored is None or any(car.new.values())]
    problems: dict[Problem, None] = {}
    for start in range(0, len(touched), CHUNK):
        chunk = touched[start : start + CHUNK]
        found = impossible_moves(chunk, today=today, pointers=writer.pointers)
        problems |= dict.fromkeys(found)
    refuse_if_any(list(problems))


def _cars(file: HistoryFile, collection: Collection) -> list[FileCar]:
    cars = [
        FileCar(f"/vehicles/{place}", car_contents(row), stated_fields(row), None)
        for place, row in enumerate(file.vehicles or ())
    ]
    marks = sorted({car.contents.vehicle.registration for car in cars})
    for start in range(0, len(marks), CHUNK):
        there = Vehicle.objects.filter(collection=collection)
        rows = stored_cars(with_marks(there, marks[start : start + CHUNK]))
        found = {bare_mark(stored.row.registration): stored for stored in rows}
        for car in cars:
            car.stored = found.get(bare_mark(car.contents.vehicle.registration), car.stored)
    return cars


def _rules(
    file: HistoryFile,
    target: Collection,
    cars: Sequence[FileCar],
    knowledge: Sequence[Car],
    writer: CarWriter,
) -> FileRules:
    collection = None if target._state.adding else target

    def other_car(registration: str) -> tuple[Vehicle, Car] | None:
        there = Vehicle.objects.filter(collection=collection)
        rows = with_marks(there, [registration])
        for stored in stored_cars(rows if collection else ()):
            alone = FileCar("", stored.contents, set(), stored)
            return stored.row, check.car_of_file(alone)
        return None

    named = {
        car.contents.vehicle.registration: (writer.vehicle(car), facts)
        for car, facts in zip(cars, knowledge, strict=True)
    }
    return read_rules(
        file.interval_rules or (), collection=collection, cars=named, other_car=other_car
    )


def _problems(
    cars: Sequence[FileCar], knowledge: Sequence[Car], today: datetime.date
) -> Iterator[Problem]:
    yield from check.registration_problems(cars)
    for car, facts in zip(cars, knowledge, strict=True):
        yield from check.record_problems(car, facts, today)
        yield from check.sheet_problems(car)


def _put_off_problems(
    target: Collection,
    cars: Sequence[FileCar],
    knowledge: Sequence[Car],
    rules: FileRules,
    writer: CarWriter,
    today: datetime.date,
) -> Iterator[Problem]:
    if not any(car.new["postponements"] for car in cars):
        return
    there = IntervalRule.objects.filter(collection=None if target._state.adding else target)
    asked_of = asked_by([*there, *rule_rows(rules.new, target)])
    for car, facts in zip(cars, knowledge, strict=True):
        asked = asked_of(writer.vehicle(car))
        yield from put_offs.new_postponement_problems(car, facts, asked, today)


def _all_problems(
    faults: Sequence[Problem],
    problems: Sequence[Problem],
    cars: Sequence[FileCar],
    knowledge: Sequence[Car],
) -> list[Problem]:
    """Add what sound records say against each other to what is wrong with single ones."""
    faulty = check.places_of([*faults, *problems])
    joint = itertools.chain.from_iterable(
        check.joint_problems(car, facts, faulty) for car, facts in zip(cars, knowledge, strict=True)
    )
    return check.without_repeats(faults, [*problems, *joint])


def _write(
    collection: Collection,
    by: Account | None,
    cars: Sequence[FileCar],
    rules: FileRules,
    writer: CarWriter,
    report: ImportReport,
) -> None:
    if collection._state.adding:
        collection.save(force_insert=True)
        report.added["collections"] += 1
        if by is not None:
            Member.objects.create(
                collection=collection, account=by, name=by.username, role=Member.Role.SECRETARY
            )
    for car in cars:
        report.added["vehicles"] += car.stored is None
        report.already_there["vehicles"] += car.stored is not None
        for noun in (*DESCRIPTIONS, *RECORDS):
            report.added[noun] += len(car.new[noun])
            report.already_there[noun] += len(car.drafts(noun)) - len(car.new[noun])
        writer.write(car)
    writer.finish()
    batch = Batch()
    batch.add(*rule_rows(rules.new, collection))
    batch.write()
    report.added["interval_rules"] += len(rules.new)
    report.already_there["interval_rules"] += rules.already_there


def _recompute(
    collection: Collection,
    cars: Sequence[FileCar],
    rules: FileRules,
    writer: CarWriter,
    today: datetime.date,
    progress: Progress,
) -> None:
    """Recompute the cars that got something; all of the collection, if it got a rule."""
    changed = [car for car in cars if car.stored is None or any(car.new.values())]
    touched = [writer.vehicle(car) for car in changed]
    progress(len(cars) - len(touched))
    if rules.new:
        known = {vehicle.pk for vehicle in touched}
        touched += Vehicle.objects.filter(collection=collection).exclude(pk__in=known)
    for start in range(0, len(touched), CHUNK):
        chunk = touched[start : start + CHUNK]
        recompute_vehicles(vehicles=chunk, on=today)
        progress(len(chunk))
