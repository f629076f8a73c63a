"""What was done to which component, and which of it starts a rule's clock anew."""

from dataclasses import dataclass, field

from tests.reference.dates import made_on, span

ALSO_RESETS = {
    "renew": set(),
    "overhaul": {"overhaul"},
    "inspect": {"overhaul", "inspect", "measure"},
    "adjust": {"overhaul", "adjust"},
    "clean": {"overhaul", "clean"},
    "lubricate": {"overhaul", "lubricate"},
}
CLEARS_A_FINDING = {"renew", "overhaul", "repair", "adjust", "clean", "refinish"}


@dataclass(frozen=True)
class Entry:
    day: int
    component: tuple
    action: str
    made: int | None = None
    carried_over: frozenset = frozenset()
    measured: tuple = ()
    to: tuple | None = None


@dataclass
class History:
    """Entries on or before `on`, the earliest first, those of one day as they were recorded.

    `parts` is the part in each place, once somebody has followed the parts of all cars.
    """

    on: int
    assemblies: dict = field(default_factory=dict)
    events: list = field(default_factory=list)
    parts: dict = field(default_factory=dict)

    @classmethod
    def of(cls, vehicle, on):
        history = cls(on)
        for row in vehicle["components"]:
            assembly = row.get("assembly")
            history.assemblies[place(row)] = place(assembly) if assembly else None
        for event in vehicle["service_events"]:
            when = span(event["on"])[0]
            if when <= on:
                mark = vehicle.get("registration")
                history.events.append([_entry(mark, when, row) for row in event["entries"]])
        return history

    @property
    def entries(self):
        return [entry for entries in self.events for entry in entries]

    def is_new_through(self, entry, component):
        """Whether an entry renews a component, itself or with an assembly it belongs to."""
        if entry.action != "renew":
            return False
        if entry.component == component:
            return True
        return self._part_of(entry.component, component, entry.carried_over)

    def _part_of(self, assembly, component, left_as_it_was=frozenset()):
        step = component
        while step is not None:
            if step == assembly:
                return step != component
            if step in left_as_it_was:
                return False
            step = self.assemblies[step]
        return False

    def is_removed_through(self, entry, component):
        """Whether an entry takes a component off the car, itself or with its assembly."""
        return entry.action == "remove" and (
            entry.component == component or self._part_of(entry.component, component)
        )

    def last_reset(self, component, task):
        found = [
            entry
            for entry, how in self.parts[component].deeds
            if how == "new" or entry.action in ALSO_RESETS[task]
        ]
        return found[-1] if found else None

    def last_renewal(self, component):
        found = [entry for entry, how in self.parts[component].deeds if how == "new"]
        return found[-1].day if found else None

    def removed(self, component):
        """Whether the place is empty: its part was taken off the car, or is elsewhere."""
        return self.parts[component].missing

    def cleared(self, component, since):
        """Whether the work that clears a finding was done on or after a day."""
        return any(
            entry.day >= since
            and (
                self.is_new_through(entry, component)
                or (entry.component == component and entry.action in CLEARS_A_FINDING)
            )
            for entry in self.entries
        )

    def measurements(self, component, quantity):
        """What was measured of the part since it was new, in the order of the entries."""
        return [
            (entry.day, entry.measured[1])
            for entry, how in self.parts[component].deeds
            if entry.measured[:1] == (quantity,) and how == "own"
        ]


def place(row):
    return row["kind"], row.get("position") or ""


def _entry(mark, when, row):
    to = row.get("to")
    measured = row.get("measurement")
    return Entry(
        when,
        place(row),
        row["action"],
        made_on(row.get("manufactured")),
        frozenset(place(part) for part in row.get("carried_over", ())),
        (measured["quantity"], str(measured["value"])) if measured else (),
        (to.get("vehicle", mark), row["kind"], to.get("position") or "") if to else None,
    )
