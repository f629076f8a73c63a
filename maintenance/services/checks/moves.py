"""What is wrong with moves: where a part is said to go, and whether it can have gone there."""

from collections import Counter
from collections.abc import Iterator

from maintenance.services.checks.cars import Car, kind_problems, place_problems
from maintenance.services.drafts import Destination, EntryDraft, Place, ServiceEventDraft
from maintenance.services.refusals import Problem


def destination_problems(draft: EntryDraft, car: Car) -> Iterator[Problem]:
    """Tell what is wrong with where an entry takes its part."""
    if draft.action != "move":
        if draft.to is not None:
            yield Problem("/to", "is for the action move only; leave it out")
        return
    if draft.to is None:
        yield Problem(
            "/to",
            "is missing; say to which position the part went, and to which vehicle if to another "
            "car; what was taken off for good is the action remove",
        )
        return
    if any(kind_problems("", draft.place.kind)):
        return  # told of the place that the part leaves
    there = Place(draft.place.kind, draft.to.position)
    if draft.to.vehicle:
        other = car.other_car(draft.to.vehicle)
        if other is None:
            text = f"no other car of the collection is registered {draft.to.vehicle!r}"
            yield Problem("/to/vehicle", f"{text}; add the car first")
            return
        yield from place_problems("/to", there, other)
    elif there == draft.place:
        yield Problem("/to/position", f"the part is in {there} already; leave the entry out")
    else:
        yield from place_problems("/to", there, car)


def exchange_problems(draft: ServiceEventDraft) -> Iterator[Problem]:
    """Tell which moves of one event, which happen at one time, get in each other's way."""
    moves = [(at, entry) for at, entry in enumerate(draft.entries) if entry.to is not None]
    taken = Counter(entry.place for _, entry in moves)
    filled = Counter(_goes_to(entry) for _, entry in moves)
    seen: set[Place | tuple[str, Destination]] = set()
    for at, entry in moves:
        where = _goes_to(entry)
        if taken[entry.place] > 1 and entry.place in seen:
            text = f"{entry.place} is moved twice in one event; one part can go to one place only"
            yield Problem(f"/entries/{at}", f"{text}: take one out")
        elif filled[where] > 1 and where in seen:
            text = f"another part goes to {where[1].of(where[0])} in the same event; take one out"
            yield Problem(f"/entries/{at}/to", text)
        seen |= {entry.place, where}


def _goes_to(entry: EntryDraft) -> tuple[str, Destination]:
    assert entry.to is not None
    return entry.place.kind, entry.to
