"""Parts that move: which part is in which place, and by which places it came there."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np

from maintenance.engine.columns import Components, Entries, Ints
from maintenance.engine.days import NO_DAY
from maintenance.engine.resets import REMOVE, RENEW, Effects

EMPTY: Final = "empty"
"""A move from a place that carries nothing."""
TAKEN: Final = "taken"
"""A move to a place that still carries a part."""
LEFT: Final = "left"
"""A move of an assembly that leaves a part of it where it was."""


class Stop(NamedTuple):
    """A place and the day a part came there, NO_DAY where it was there all along."""

    place: int
    day: int


class Fault(NamedTuple):
    """A move that can't have happened as recorded: its entry, why, and the place concerned."""

    entry: int
    why: str
    place: int


@dataclass(frozen=True)
class Journeys:
    """Where parts are on a day, and how they came there.

    `done` is what was done to each part, under the place it is in now; an emptied place counts as
    removed. `stops` holds, for each place that took part in a move and each shelf, the places its
    part has been in since it was new, and `seen` the first day on record of that part. `moved`
    says for a place and the order of an entry there in which place its part is now, -1 if gone.
    `unused` are shelves of which nothing is recorded: nothing is on them.
    """

    done: Effects
    stops: dict[int, tuple[Stop, ...]]
    seen: dict[int, int]
    moved: dict[tuple[int, int], int]
    faults: tuple[Fault, ...]
    unused: tuple[int, ...]


def journeys(done: Effects, entries: Entries, components: Components) -> Journeys:
    """Follow parts from place to place.

    Parameters
    ----------
    done : Effects
        What was done at each place by the day asked about.
    entries : Entries
        The entries of `done`, with the moves among them.
    components : Components
        Places on cars and shelves.

    Returns
    -------
    Journeys
        The moves of one service event happen at one time, before the entries that stand after
        the first of them and after those that stand before it. Events of one day on one car
        follow each other as recorded; one that takes a part from or to another car waits for the
        event of that car which makes it possible.

    References
    ----------
    .. [1] Common practice: a rotation of tyres exchanges places, not histories.
    """
    moves = np.flatnonzero(entries.moved_to[done.entry] >= 0)
    concerned = _concerned(entries, components, done.entry[moves])
    if not concerned:
        return Journeys(done, {}, {}, {}, (), ())
    walk = _Walk(entries, components, concerned)
    rows = np.flatnonzero(np.isin(done.component, sorted(concerned)))
    for event in _events(done, entries, components, rows, walk):
        walk.take(event)
    return walk.journeys(done, rows)


def _concerned(entries: Entries, components: Components, moves: Ints) -> set[int]:
    """Return shelves, the ends of all moves, and what belongs to an assembly that moves."""
    going: set[int] = set()
    below = set(entries.component[moves].tolist())
    while below:
        going |= below
        belongs = np.isin(components.assembly, sorted(below))
        below = set(np.flatnonzero(belongs).tolist()) - going
    shelves = np.flatnonzero(components.storage >= 0).tolist()
    return going | set(entries.moved_to[moves].tolist()) | set(shelves)


class _Deed(NamedTuple):
    """One row of what was done: place, entry, day and action."""

    place: int
    entry: int
    day: int
    action: int


_Event = list[_Deed]


def _events(
    done: Effects, entries: Entries, components: Components, rows: Ints, walk: "_Walk"
) -> Iterator[_Event]:
    """Yield service events in the order in which they can have happened."""
    entry = done.entry[rows]
    rows = rows[np.lexsort((done.component[rows], entries.order[entry], done.day[rows]))]
    by_day: dict[int, dict[int, _Event]] = defaultdict(lambda: defaultdict(list))
    columns = (done.component, done.entry, done.day, done.action)
    for row in zip(*(column[rows].tolist() for column in columns), strict=True):
        deed = _Deed(*row)
        by_day[deed.day][int(entries.event[deed.entry])].append(deed)
    for events in by_day.values():
        waiting = list(events.values())
        cars = [int(components.vehicle[entries.component[event[0].entry]]) for event in waiting]
        while waiting:
            place = _next(waiting, cars, walk)
            cars.pop(place)
            yield waiting.pop(place)


def _next(waiting: Sequence[_Event], cars: Sequence[int], walk: "_Walk") -> int:
    """Return the first event that can happen now and is the earliest of its car."""
    for place, event in enumerate(waiting):
        if cars[place] not in cars[:place] and not any(walk.faults_of(event)):
            return place
    return 0


@dataclass
class _Part:
    """What is or was in a place, with what was done to it; `empty` says that nothing is there.

    A shelf is `unused` until something is recorded of a part on it: only then is there one.
    """

    stops: list[Stop]
    empty: bool = False
    unused: bool = False
    seen: int = int(NO_DAY)
    deeds: list[tuple[_Deed, int]] = field(default_factory=list)

    def come_to(self, place: int, day: int) -> None:
        if self.stops[-1].day == day:
            self.stops.pop()
        if not self.stops or self.stops[-1].place != place:
            self.stops.append(Stop(place, day))

    def suffer(self, deed: _Deed, turn: int) -> None:
        self.deeds.append((deed, turn))
        if self.seen == NO_DAY:
            self.seen = deed.day
        if self.unused:
            self.unused = self.empty = False
        if deed.action == RENEW:
            # A new part: what was there before has no further history.
            self.stops, self.seen, self.empty = [Stop(deed.place, int(NO_DAY))], deed.day, False
        elif deed.action == REMOVE:
            self.empty = True


class _Walk:
    """The places concerned, with the part in each, as the events are taken one by one."""

    def __init__(self, entries: Entries, components: Components, concerned: set[int]) -> None:
        self.entries, self.components = entries, components
        self.parts = {}
        for place in concerned:
            shelf = bool(components.storage[place] >= 0)
            self.parts[place] = _Part([Stop(place, int(NO_DAY))], empty=shelf, unused=shelf)
        self.faults: list[Fault] = []
        self.gone: list[_Part] = []
        self.turn = 0

    def to(self, deed: _Deed) -> int:
        """Return the place to which a deed moves its part, -1 where it moves none."""
        return int(self.entries.moved_to[deed.entry])

    def moves_of(self, event: _Event) -> list[_Deed]:
        return [deed for deed in event if self.to(deed) >= 0]

    def faults_of(self, event: _Event) -> Iterator[Fault]:
        """Tell which moves of an event are not possible as things are before it."""
        moves = self.moves_of(event)
        free = self._free_before(event, moves)
        lifted = {deed.place for deed in moves}
        removed = {deed.place for deed in event if deed.action == REMOVE}
        for deed in moves:
            if deed.place in free:
                yield Fault(deed.entry, EMPTY, deed.place)
            elif self.to(deed) not in free | lifted:
                yield Fault(deed.entry, TAKEN, self.to(deed))
            for part in self._below(deed.place):
                if part not in free | lifted | removed:
                    yield Fault(deed.entry, LEFT, part)

    def _free_before(self, event: _Event, moves: list[_Deed]) -> set[int]:
        """Return the places that carry nothing when the moves of an event happen."""
        free = {place for place, part in self.parts.items() if part.empty}
        for deed in event:
            if moves and deed is moves[0]:
                break
            if deed.action == REMOVE:
                free.add(deed.place)
            elif deed.action == RENEW or self.parts[deed.place].unused:
                free.discard(deed.place)
        return free

    def _below(self, place: int) -> Iterator[int]:
        for part in np.flatnonzero(self.components.assembly == place).tolist():
            yield part
            yield from self._below(part)

    def take(self, event: _Event) -> None:
        self.faults += self.faults_of(event)
        moves = self.moves_of(event)
        for deed in event:
            if moves and deed is moves[0]:
                self._move(moves)
            if self.to(deed) < 0:
                self._do(deed)

    def _do(self, deed: _Deed) -> None:
        self.turn += 1
        self.parts[deed.place].suffer(deed, self.turn)

    def _move(self, moves: Iterable[_Deed]) -> None:
        lifted = [(deed, self.parts[deed.place]) for deed in moves]
        for deed, _ in lifted:
            self._do(deed)
            emptied = _Part([Stop(deed.place, int(NO_DAY))])
            self.parts[deed.place] = emptied
            emptied.suffer(deed._replace(action=REMOVE), self.turn)
        for deed, part in lifted:
            self.gone.append(self.parts[self.to(deed)])
            part.come_to(self.to(deed), deed.day)
            self.parts[self.to(deed)] = part

    def journeys(self, done: Effects, rows: Ints) -> Journeys:
        """Return the parts under the places they are in at the end."""
        moved: dict[tuple[int, int], int] = {}
        kept: list[tuple[int, _Deed, int]] = []
        there = list(self.parts.items())
        for now, part in [*((-1, part) for part in self.gone), *there]:
            for deed, turn in part.deeds:
                is_own = self.entries.component[deed.entry] == deed.place
                left_behind = deed.action == REMOVE and self.to(deed) >= 0
                if is_own and not left_behind:
                    moved[deed.place, int(self.entries.order[deed.entry])] = now
                if now >= 0:
                    kept.append((turn, deed, now))
        kept.sort(key=lambda row: row[0])
        return Journeys(
            done=_joined(done, rows, kept),
            stops={place: tuple(part.stops) for place, part in there},
            seen={place: part.seen for place, part in there},
            moved=moved,
            faults=tuple(self.faults),
            unused=tuple(place for place, part in there if part.unused),
        )


def _joined(done: Effects, rows: Ints, kept: list[tuple[int, _Deed, int]]) -> Effects:
    """Put the deeds of parts in the place of the rows that they came from."""
    others = np.ones(done.component.size, dtype=bool)
    others[rows] = False

    def column(name: str, mine: list[int]) -> Ints:
        return np.concatenate([getattr(done, name)[others], np.array(mine, dtype=np.int64)])

    component = column("component", [now for _, _, now in kept])
    entry = column("entry", [deed.entry for _, deed, _ in kept])
    day = column("day", [deed.day for _, deed, _ in kept])
    action = column("action", [deed.action for _, deed, _ in kept])
    # Stable: rows of one component and day stay in the order in which the events were taken.
    order = np.lexsort((day, component))
    return Effects(component[order], entry[order], day[order], action[order])
