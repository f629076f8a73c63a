"""What is wrong or odd about the postponements of a history file."""

import datetime
from collections.abc import Callable, Iterator, Sequence
from uuid import UUID

from maintenance.catalogue.rules import APPLIES
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import TASKS
from maintenance.models import Paper, Postponement
from maintenance.queries.departures import present
from maintenance.queries.due_answers import Answers
from maintenance.services.checks.cars import Car, kind_problems, place_problems
from maintenance.services.checks.figures import text_problems
from maintenance.services.checks.inspections import GRAVE
from maintenance.services.drafts import DueItemName, PostponementDraft
from maintenance.services.history_file.compare import FileCar, cycle_of
from maintenance.services.history_file.contents import CarContents
from maintenance.services.history_file.due_item_names import Asked, CarItems
from maintenance.services.recompute import CHUNK
from maintenance.services.refusals import Problem

_OR_GONE = 'or say "gone": true'


def items_of(car: FileCar, asked: Asked) -> CarItems:
    """Return what can fall due of a car once the file is imported."""
    added = CarContents(
        vehicle=car.contents.vehicle,
        components=car.contents.components,
        # One that was corrected since is in the file, and not in force.
        inspections=[car.contents.inspections[place] for place in car.new["inspections"]],
        papers=[car.contents.papers[place] for place in car.new["papers"]],
    )
    return CarItems.of(asked, *([car.stored.contents] if car.stored else []), added)


def new_postponement_problems(
    car: FileCar, known: Car, asked: Asked, today: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with each postponement that the file adds; the rest was taken before."""
    if not car.new["postponements"]:
        return
    items = items_of(car, asked)
    for place in car.new["postponements"]:
        draft = car.contents.postponements[place]
        for problem in postponement_problems(draft, known, items, today):
            yield problem.under(f"{car.prefix}/postponements/{place}")


def postponement_problems(
    draft: PostponementDraft, car: Car, items: CarItems, today: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with a postponement by itself.

    A last day that has passed and an item that was renewed since are what a history tells of; an
    item that the car does not have is refused, unless it is said to be gone.
    """
    yield from text_problems("/rule", draft.rule, longest=160, required=True)
    yield from text_problems("/why", draft.why, required=True)
    if draft.since is not None and draft.since > today:
        yield Problem("/since", f"{draft.since} is after today, {today}; check the day")
    elif draft.since is not None and draft.until < draft.since:
        text = f"{draft.until} is before the clock of the item started, {draft.since}"
        yield Problem("/until", f"{text}; check the days")
    if draft.gone:
        yield from _gone_problems(draft.item)
        return
    for problem in _item_problems(draft.item, car, items):
        yield problem.under(f"/{draft.item.of}")


def _gone_problems(name: DueItemName) -> Iterator[Problem]:
    """Tell what is wrong with the name of an item of which the car need have nothing any more."""
    if name.of in ("component", "finding"):
        yield from kind_problems(f"/{name.of}/kind", name.place.kind)
        yield from text_problems(f"/{name.of}/position", name.place.position, longest=60)
    words = {"component": _task_problems, "paper": _paper_kind_problems}.get(name.of)
    for problem in words(name) if words else ():
        yield problem.under(f"/{name.of}")


def _task_problems(name: DueItemName) -> Iterator[Problem]:
    if name.task not in TASKS:
        yield Problem("/task", unknown("task", name.task, TASKS))
    if name.applies not in APPLIES:
        yield Problem("/applies", unknown("word", name.applies, APPLIES))


def _paper_kind_problems(name: DueItemName) -> Iterator[Problem]:
    if name.place.kind not in Paper.Kind.values:
        yield Problem("/kind", unknown("kind of paper", name.place.kind, Paper.Kind.values))


def _item_problems(name: DueItemName, car: Car, items: CarItems) -> Iterator[Problem]:
    """Tell what is wrong with the words of a name, or else that they name nothing."""
    if name.of == "component":
        found = [*place_problems("", name.place, car), *_task_problems(name)]
    elif name.of == "finding":
        found = [*place_problems("", name.place, car), *_finding_word_problems(name)]
    elif name.of == "paper":
        found = [*_paper_kind_problems(name), *_day_problems("/until", name.until)]
    else:
        found = []
    yield from found
    if name.of and not found and not items.has(name):
        yield _NOTHING[name.of](name, items)


def _finding_word_problems(name: DueItemName) -> Iterator[Problem]:
    yield from _day_problems("/on", name.on)
    if name.category not in GRAVE:
        yield Problem("/category", unknown("category that falls due", name.category, GRAVE))


def _day_problems(pointer: str, day: datetime.date | None) -> Iterator[Problem]:
    if day is None:
        yield Problem(pointer, f"is missing; give it, {_OR_GONE}")


def _not_asked(name: DueItemName, items: CarItems) -> Problem:
    asked = sorted(
        task if applies == "always" else f"{task} ({applies})"
        for task, applies in items.asked(name.place)
    )
    what = name.task if name.applies == "always" else f"{name.task} ({name.applies})"
    text = f"no rule asks to {what} {name.place}, but to {', '.join(asked) or 'do nothing'}"
    return Problem("/task", f"{text}; name what is asked, {_OR_GONE} where a rule asked it once")


def _not_found(name: DueItemName, items: CarItems) -> Problem:
    days = sorted({str(have.on) for have in items.findings if have.place == name.place})
    known = f"those of {name.place} are of {', '.join(days)}" if days else f"{name.place} has none"
    return Problem(
        "",
        f"is none of the major and dangerous findings on record; {known}; "
        f"name day, place, category and note as there, {_OR_GONE} where it was corrected",
    )


def _no_paper(name: DueItemName, items: CarItems) -> Problem:
    known = [f"{have.place.kind} {have.number}".strip() for have in items.papers]
    text = f"the car has no such paper (of its own: {', '.join(sorted(known)) or 'none'})"
    return Problem("", f"{text}; name kind, number and until as among its papers, {_OR_GONE}")


def _never_inspected(name: DueItemName, items: CarItems) -> Problem:
    text = "the car has neither an inspection regime nor an inspection on record"
    return Problem("", f"{text}; give it one of them, {_OR_GONE}")


_NOTHING: dict[str, Callable[[DueItemName, CarItems], Problem]] = {
    "component": _not_asked,
    "finding": _not_found,
    "paper": _no_paper,
    "inspection": _never_inspected,
}


def cycle_problems(car: FileCar, faulty: set[str]) -> Iterator[Problem]:
    """Refuse two words on one item and cycle, and one that is no later than the stored word."""
    first: dict[object, str] = {}
    for place, draft in enumerate(car.contents.postponements):
        prefix = f"{car.prefix}/postponements/{place}"
        cycle = cycle_of(draft)
        if prefix in faulty or cycle is None:
            continue
        if cycle in first:
            yield Problem(prefix, f"puts off what {first[cycle]} puts off already; take one out")
        elif place in car.put_off_before:
            there = car.put_off_before[place]
            if draft.until <= there.until:
                text = f"the collection has it put off until {there.until}: {there.why!r}"
                yield Problem(f"{prefix}/until", f"{text}; name a later day, or take this out")
        first.setdefault(cycle, prefix)


def idle_warnings(
    written: Sequence[tuple[str, Postponement]], today: datetime.date
) -> Iterator[str]:
    """Tell which postponements just written put nothing off, though their last day is to come.

    `written` has them with their pointers; those of cars that have left are let pass. To be asked
    once all else of the file is written. Costs the queries of the due list, where there is any.
    """
    cars = {row.vehicle_id: row.vehicle for _, row in written if row.until >= today}
    there = present(cars.values(), today)
    clocks: dict[tuple[UUID, str], str] = {}
    for start in range(0, len(there), CHUNK):
        items = Answers(there[start : start + CHUNK], on=today).items()
        clocks |= {(item.vehicle_id, item.key): item.cycle for item in items}
    known = {car.pk for car in there}
    for pointer, row in written:
        if row.until < today or row.vehicle_id not in known:
            continue
        clock = clocks.get((row.vehicle_id, row.item_key))
        if clock is None:
            yield f"{pointer}: puts off nothing that falls due now"
        elif clock != row.cycle:
            started = f"whose clock started on {clock}" if clock else "which has no clock"
            yield f"{pointer}/since: puts off another cycle than the present one, {started}"
