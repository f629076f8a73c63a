"""Which records of a file the collection has already, counted one by one."""

import dataclasses
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from maintenance.services.drafts import LayUpDraft, PostponementDraft, ServiceEventDraft
from maintenance.services.history_file.contents import CarContents
from maintenance.services.history_file.stored import StoredCar

#: Evidence: any number of equal records may stand.
RECORDS = (
    "odometer_readings",
    "odometer_changes",
    "lay_ups",
    "service_events",
    "inspections",
    "postponements",
    "departures",
)
#: Descriptions: one of each name.
DESCRIPTIONS = ("components", "papers", "specification")


@dataclass
class FileCar:
    """A car of a file beside the same car of the database, if it is there.

    `new` holds by noun the places, in the file's list, of what the database lacks; `goes_on` is
    the stored lay-up still open of which the file tells more, with its place in the file.
    `put_off_before` has the stored word on a due item of which the file has another one, by the
    place of that.
    """

    prefix: str
    contents: CarContents
    stated: set[str]
    stored: StoredCar | None
    new: dict[str, list[int]] = field(default_factory=dict)
    goes_on: tuple[LayUpDraft, int] | None = None
    put_off_before: dict[int, PostponementDraft] = field(default_factory=dict)

    def drafts(self, noun: str) -> list[Any]:
        """Return all drafts of a noun in the file."""
        drafts: list[Any] = getattr(self.contents, noun)
        return drafts

    def stored_drafts(self, noun: str) -> list[Any]:
        """Return all drafts of a noun that are in force in the database."""
        return [] if self.stored is None else getattr(self.stored.contents, noun)


def compare(car: FileCar) -> None:
    """Find what a file adds to what is stored of a car.

    A record that was superseded since counts as there: a file from before the correction must
    not bring the error back.
    """
    for noun in RECORDS:
        there = Counter(map(_said, car.stored_drafts(noun)))
        if car.stored is not None:
            there.update(map(_said, getattr(car.stored.superseded, noun)))
        car.new[noun] = _missing(car.drafts(noun), there)
    car.goes_on = _going_on(car)
    car.put_off_before = _put_off_before(car)
    for noun in DESCRIPTIONS:
        names = {name_of(draft) for draft in car.stored_drafts(noun)}
        car.new[noun] = [
            place for place, draft in enumerate(car.drafts(noun)) if name_of(draft) not in names
        ]


def name_of(draft: Any) -> tuple[Any, ...]:
    """Return what may stand only once on a car: a component's place, a paper, a sheet's item."""
    if hasattr(draft, "place"):
        return (draft.place,)
    if hasattr(draft, "item"):
        return (draft.item,)
    return draft.kind, draft.number, draft.until


def repeated(drafts: Sequence[Any]) -> list[int]:
    """Return the places of records that say the same as one before them."""
    seen: set[Any] = set()
    found = []
    for place, draft in enumerate(drafts):
        said = _said(draft)
        if said in seen:
            found.append(place)
        seen.add(said)
    return found


def _missing(drafts: Sequence[Any], there: Counter[Any]) -> list[int]:
    missing = []
    for place, draft in enumerate(drafts):
        said = _said(draft)
        if there[said] > 0:
            there[said] -= 1
        else:
            missing.append(place)
    return missing


def _said(draft: Any) -> Any:
    """Return what a record says, the order of parts carried over left aside.

    Whether what was put off is still on record can change after a file was written.
    """
    if isinstance(draft, PostponementDraft):
        return dataclasses.replace(draft, item=draft.item.bare(), gone=False)
    if not isinstance(draft, ServiceEventDraft):
        return draft
    entries = tuple(
        dataclasses.replace(entry, carried_over=tuple(sorted(entry.carried_over)))
        for entry in draft.entries
    )
    return dataclasses.replace(draft, entries=entries)


def _going_on(car: FileCar) -> tuple[LayUpDraft, int] | None:
    for stored in car.stored_drafts("lay_ups"):
        for place in car.new["lay_ups"]:
            draft = car.contents.lay_ups[place]
            if stored.to_on is None and draft.from_on == stored.from_on:
                return stored, place
    return None


def _put_off_before(car: FileCar) -> dict[int, PostponementDraft]:
    stored = {cycle_of(draft): draft for draft in car.stored_drafts("postponements")}
    cycles = {
        place: cycle_of(car.contents.postponements[place]) for place in car.new["postponements"]
    }
    return {place: stored[cycle] for place, cycle in cycles.items() if cycle and cycle in stored}


def cycle_of(draft: PostponementDraft) -> tuple[Any, ...] | None:
    """Return what is put off once at a time: an item in one cycle; None of an item that is gone."""
    return None if draft.gone else (draft.item, draft.since)
