"""Which entry last reset a rule on a component."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.engine.columns import ACTIONS, Bools, CarriedOver, Components, Entries, Ints
from maintenance.engine.days import NO_DAY
from maintenance.engine.ranges import expand, runs

RENEW: Final = ACTIONS.index("renew")
REMOVE: Final = ACTIONS.index("remove")

_ALSO: Final = (
    (),  # renew
    ("overhaul",),
    ("overhaul", "inspect", "measure"),
    ("overhaul", "adjust"),
    ("overhaul", "clean"),
    ("overhaul", "lubricate"),
)
RESETTING: Final = np.array(
    [[action == "renew" or action in also for action in ACTIONS] for also in _ALSO]
)
"""Shape (tasks, actions): whether an action resets the clock of a rule of that task."""

MENDING: Final = np.isin(ACTIONS, ("renew", "overhaul", "repair", "adjust", "clean", "refinish"))
"""Whether an action clears a finding."""


@dataclass(frozen=True)
class Effects:
    """What entries do to components: an entry's own, and renewals that an assembly passes down.

    Sorted by component, day and order of recording; `entry` is the row of the entry.
    """

    component: Ints
    entry: Ints
    day: Ints
    action: Ints


def effects(
    entries: Entries, components: Components, carried_over: CarriedOver, on: int
) -> Effects:
    """Return what the entries made by a day did to each component.

    Parameters
    ----------
    entries : Entries
        In any order; those after `on` are left out.
    components : Components
        With the assembly each belongs to.
    carried_over : CarriedOver
        Parts, or assemblies within an assembly, that a renewal left as they were.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    Effects
        A renewal or removal of an assembly counts for every part below it, to any depth, unless
        the part or an assembly between is carried over.

    References
    ----------
    .. [1] Common practice: an assembly bought complete brings new parts with it.
    """
    entry = np.flatnonzero(entries.day <= on)
    component = entries.component[entry]
    all_entries, all_components = [entry], [component]
    passes_down = np.isin(entries.action[entry], (RENEW, REMOVE))
    entry, component = entry[passes_down], component[passes_down]
    by_assembly = np.argsort(components.assembly, kind="stable")
    assembly = components.assembly[by_assembly]
    kept = _pairs(carried_over.entry, carried_over.component, components)
    while entry.size:
        owner, member = expand(*runs(assembly, component))
        entry, component = entry[owner], by_assembly[member]
        goes_on = ~np.isin(_pairs(entry, component, components), kept)
        entry, component = entry[goes_on], component[goes_on]
        all_entries.append(entry)
        all_components.append(component)
    return _sorted(np.concatenate(all_components), np.concatenate(all_entries), entries)


def _pairs(entry: Ints, component: Ints, components: Components) -> Ints:
    return entry * components.vehicle.size + component


def _sorted(component: Ints, entry: Ints, entries: Entries) -> Effects:
    order = np.lexsort((entry, entries.order[entry], entries.day[entry], component))
    component, entry = component[order], entry[order]
    return Effects(component, entry, entries.day[entry], entries.action[entry])


def latest(done: Effects, counts: Bools, component: Ints) -> Ints:
    """Return the row of `done` that last did something that counts to each component.

    Parameters
    ----------
    done : Effects
        What was done, sorted.
    counts : array of bool
        For each row of `done`, whether it counts.
    component : array of int
        Components asked about.

    Returns
    -------
    array of int
        Row of `done`, -1 where there is none.

    References
    ----------
    .. [1] Common practice: the latest record counts; of one day, the one entered last.
    """
    rows = np.flatnonzero(counts)
    place = np.searchsorted(done.component[rows], component, side="right") - 1
    found = place >= 0
    found[found] = done.component[rows[place[found]]] == component[found]
    row = np.full(component.size, -1, dtype=np.int64)
    row[found] = rows[place[found]]
    return row


def last_day(done: Effects, counts: Bools, component: Ints) -> Ints:
    """Return the day on which something that counts was last done to each component.

    Parameters
    ----------
    done : Effects
        What was done, sorted.
    counts : array of bool
        For each row of `done`, whether it counts.
    component : array of int
        Components asked about.

    Returns
    -------
    array of int
        Days since 1970-01-01 [days], NO_DAY where nothing was.

    References
    ----------
    .. [1] Common practice.
    """
    row = latest(done, counts, component)
    day = np.full(component.size, NO_DAY)
    day[row >= 0] = done.day[row[row >= 0]]
    return day


def resetting_entries(done: Effects, component: Ints, task: Ints) -> Ints:
    """Return the entry that starts the clock of each item.

    Parameters
    ----------
    done : Effects
        What was done, sorted.
    component, task : arrays of int
        Component and task of each item.

    Returns
    -------
    array of int
        Row of the entry, -1 where no start is on record.

    References
    ----------
    .. [1] Common practice: a renewal starts every interval afresh, lesser work its own.
    """
    entry = np.full(component.size, -1, dtype=np.int64)
    for number in range(RESETTING.shape[0]):
        rows = np.flatnonzero(task == number)
        if rows.size:
            row = latest(done, RESETTING[number][done.action], component[rows])
            entry[rows[row >= 0]] = done.entry[row[row >= 0]]
    return entry


def emptied_on(done: Effects, component: Ints) -> Ints:
    """Return since when each place carries nothing: removed, or moved away, and not renewed.

    Parameters
    ----------
    done : Effects
        What was done, sorted.
    component : array of int
        Components asked about.

    Returns
    -------
    array of int
        Day of the removal [days since 1970-01-01] where that is the latest renewal or removal,
        NO_DAY where the component is in its place.

    References
    ----------
    .. [1] Common practice: what has been taken off the car has no interval on the car.
    """
    row = latest(done, np.isin(done.action, (RENEW, REMOVE)), component)
    row = np.where((row >= 0) & (done.action[row] == REMOVE), row, -1) if done.day.size else row
    day = np.full(component.size, NO_DAY)
    day[row >= 0] = done.day[row[row >= 0]]
    return day
