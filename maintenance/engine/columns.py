"""What goes into the engine and what comes out: frozen dataclasses of equally long arrays.

A batch holds any number of cars; one car is a batch of one. Rows refer to each other by their
place in another table (`vehicle`, `component`, `rule`), -1 where there is none. A day that is
not known is `NO_DAY`; one that never comes is `NEVER`.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Texts = NDArray[np.object_]

GRADES: Final = ("heated", "dry", "damp", "outdoors")
TASKS: Final = ("renew", "overhaul", "inspect", "adjust", "clean", "lubricate")
ACTIONS: Final = (
    "renew",
    "overhaul",
    "inspect",
    "measure",
    "adjust",
    "lubricate",
    "top_up",
    "clean",
    "repair",
    "refinish",
    "move",
    "remove",
)
CRITICALITIES: Final = ("safety", "reliability", "appearance")
CRITERIA: Final = (
    "time",
    "distance",
    "wear",
    "first_use",
    "inspection",
    "finding",
    "expiry",
    "no_record",
)
STATUSES: Final = (
    "no_record",
    "before_use",
    "overdue",
    "falling_due",
    "unmeasured",
    "in_date",
)
PLAIN_READING: Final = 0
OLD_INSTRUMENT: Final = 1
NEW_INSTRUMENT: Final = 2


@dataclass(frozen=True)
class Vehicles:
    """Cars. `expected_annual` is in odometer units a year, `odometer_unit` in tenths of a mm."""

    built: Ints
    first_registered: Ints
    unchanged: Bools
    """The keeper's word that the car is not substantially changed."""
    odometer_unit: Ints
    odometer_digits: Ints
    expected_annual: Ints
    regime: Ints
    season_from: Ints
    """First month of a seasonal plate, 1 to 12; 0 where there is none."""
    season_to: Ints


@dataclass(frozen=True)
class LayUps:
    """Periods off the road `[start, end)`; `end` is NO_DAY while the period lasts."""

    vehicle: Ints
    start: Ints
    end: Ints
    expected: Ints
    grade: Ints
    """Storage grade, or 4 and more for a row of `Stores`: the column of `Rules.factors`."""


@dataclass(frozen=True)
class Stores:
    """Stores of single lay-ups whose factors differ from their grade's; the first is number 4.

    A measured climate or a preparation makes a store of its own. `grade` is the storage grade on
    record; `reason` says how each rule's factor came about, shape (rules, grades and stores),
    empty where the rule itself sets it.
    """

    grade: Ints
    reason: Texts

    def grade_name(self, number: int) -> str:
        """Return the storage grade of a store by its number."""
        own = number - len(GRADES)
        return GRADES[number if own < 0 else int(self.grade[own])]

    def reason_for(self, rule: int, number: int) -> str:
        """Return how a rule's factor for a store came about; empty where the rule sets it."""
        return str(self.reason[rule, number]) if self.reason.size else ""


NO_STORES: Final = Stores(np.zeros(0, dtype=np.int64), np.zeros((0, 0), dtype=np.object_))


@dataclass(frozen=True)
class Readings:
    """What odometers showed, in tenths of the odometer unit; `kind` tells a changed instrument."""

    vehicle: Ints
    day: Ints
    tenths: Ints
    kind: Ints


@dataclass(frozen=True)
class Components:
    """Places on cars; `assembly` is the row of the component each belongs to.

    `storage` is the storage grade of a shelf, where a part of the car lies; -1 for a place on it.
    """

    vehicle: Ints
    assembly: Ints
    storage: Ints


@dataclass(frozen=True)
class Entries:
    """Actions on components. `order` ranks entries of one day, later ones higher.

    `event` numbers the service event of each entry: its moves happen at one time. `moved_to` is
    the component to which a move takes the part, -1 for every other entry.
    """

    component: Ints
    day: Ints
    order: Ints
    action: Ints
    manufactured: Ints
    last_day: Ints
    """Last day of what was stated; equal to `day` where the day itself is known."""
    event: Ints
    moved_to: Ints


@dataclass(frozen=True)
class CarriedOver:
    """Pairs of an assembly's renewal and a part that it left as it was."""

    entry: Ints
    component: Ints


@dataclass(frozen=True)
class Measurements:
    """Quantities read on components; `quantity` numbers them as the rules do."""

    component: Ints
    day: Ints
    order: Ints
    quantity: Ints
    value: Floats


@dataclass(frozen=True)
class Rules:
    """Interval rules. A limit that a rule does not set is -1, or NaN for measured wear.

    Distances are in tenths of a millimetre, factors in hundredths by storage grade,
    `standing_per_month` in tenths of a millimetre for each mean month laid up.
    """

    name: Texts
    kind: Texts
    source: Texts
    task: Ints
    laid_up_only: Bools
    months: Ints
    distance: Ints
    factors: Ints
    """Shape (rules, grades and further stores)."""
    standing_per_month: Ints
    first_use_months: Ints
    counts_shelf_age: Bools
    quantity: Ints
    wear_quantity: Texts
    wear_unit: Texts
    wear_new: Floats
    wear_minimum: Floats
    wear_maximum: Floats
    against_aged_days: Bools
    warn_days: Ints
    warn_distance: Ints
    criticality: Ints


@dataclass(frozen=True)
class Items:
    """Which rule is asked of which component."""

    component: Ints
    rule: Ints


@dataclass(frozen=True)
class Inspections:
    """Roadworthiness inspections in the order they were made; `expires` is NO_DAY if not stated."""

    vehicle: Ints
    day: Ints
    passed: Bools
    expires: Ints


@dataclass(frozen=True)
class Findings:
    """Faults that an inspection calls major or dangerous; `inspection` is its row."""

    inspection: Ints
    vehicle: Ints
    component: Ints
    day: Ints


@dataclass(frozen=True)
class Papers:
    """Dated papers and kit: first and last day of validity; `begins` is NO_DAY if not stated."""

    vehicle: Ints
    line: Ints
    """The same for papers of one car of which one renews another."""
    begins: Ints
    until: Ints
    criticality: Ints


@dataclass(frozen=True)
class Regimes:
    """Inspection regimes. Bands by age are padded with NEVER (age) and 0 (months)."""

    name: Texts
    source: Texts
    first_after_months: Ints
    band_from_months: Ints
    """Shape (regimes, bands): age in months since first registration from which a band runs."""
    band_every_months: Ints
    """Shape (regimes, bands)."""
    exempt_after_months: Ints
    """Age at which a car that is not substantially changed is exempt; -1 where none is."""
    day_before: Bools
    """A certificate ends on the day before the calendar date of its test."""
    month_end: Bools
    """The period runs to the end of the month."""
    keeps_date_months: Ints
    """A test up to so many months less a day early keeps the date; 0 where none does."""
    keeps_first_date: Bools
    """It keeps the day of the first test too."""
    by_registration: Bools
    """Tests stay due by the day and month of registration, however early or late one is made."""
    suspended_off_road: Bools


@dataclass(frozen=True)
class Batch:
    """All that the engine is told about some cars."""

    vehicles: Vehicles
    lay_ups: LayUps
    readings: Readings
    components: Components
    entries: Entries
    carried_over: CarriedOver
    measurements: Measurements
    rules: Rules
    items: Items
    inspections: Inspections
    findings: Findings
    papers: Papers
    regimes: Regimes
    stores: Stores = NO_STORES
