"""Whole cars for Hypothesis: history, rules, inspection regime and the day asked about.

Every car is valid by construction. Days come mostly from a handful a car has, among them month
ends, leap days and the day asked about, so that things fall on one day far oftener than in life.

The choices are named once and drawn by plain functions: to build a strategy anew for each draw
takes longer than all else.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from itertools import product

from hypothesis import strategies as st

from tests.reference.dates import iso
from tests.strategies_moves import give_moves
from tests.strategies_odometer import give_readings
from tests.strategies_rules import WEARING_KINDS, draw_regime, draw_rules

YEARS = 12
GRADES = st.sampled_from(["heated", "dry", "damp", "outdoors"])
KINDS = st.sampled_from([*WEARING_KINDS, "brake-fluid", "suspension-arm"])
POSITIONS = ("front", "rear", "rear left", "")
ACTIONS = st.sampled_from(
    [
        *["renew"] * 4,
        *["measure"] * 6,
        *["inspect", "inspect", "overhaul", "adjust", "lubricate", "clean"],
        *["repair", "refinish", "top_up", "move", "remove"],
    ]
)
CATEGORIES = st.sampled_from(["advisory", "minor", "major", "dangerous"])
ASKED = st.one_of(
    st.dates(date(2016, 1, 1), date(2028, 12, 31)),
    st.sampled_from([date(2020, 2, 29), date(2024, 2, 29), date(2023, 2, 28), date(2021, 8, 31)]),
).map(date.toordinal)
EXPECTED_ANNUALLY = st.none() | st.integers(1, 20_000)
YES_NO = st.booleans()
ONE_IN_FIVE = st.sampled_from([True, False, False, False, False])
ONE_IN_SIX = st.integers(0, 5).map(lambda drawn: drawn == 0)
#: Unit and digits of the odometer, whether the car is changed, months of a seasonal plate.
PARTICULARS = st.sampled_from(
    list(
        product(
            ["km", "mi"],
            [5, 6],
            [None, True, False, False],
            [(None, None)] * 4 + [(4, 10), (11, 2), (1, 12)],
        )
    )
)
RESULT = st.sampled_from(["pass", "pass", "fail"])
#: How much of a date is known: the day, or no more than the month or the year.
STATED = st.sampled_from([10] * 8 + [7, 4])
UP_TO_ONE, UP_TO_TWO, UP_TO_FOUR, UP_TO_SEVEN = (st.integers(0, most) for most in (1, 2, 4, 7))


@dataclass
class Case:
    """What `tests.reference.due_items` is asked; days are ISO 8601.

    `fleet` holds the cars between which parts may have moved, in the order of their records.
    """

    vehicle: dict
    rules: list
    regime: dict | None
    on: str
    fleet: list = field(default_factory=list)


@st.composite
def fleets(draw, at_least, at_most):
    """Several cars asked about on one day."""
    on = draw(ASKED)
    histories = [draw_history(draw, on) for _ in range(draw(st.integers(at_least, at_most)))]
    vehicles = [history.vehicle for history in histories]
    for number, vehicle in enumerate(vehicles):
        vehicle["registration"] = f"EX-{number}"
    moved = draw(YES_NO) and give_moves(draw, histories, on)
    fleet = vehicles if moved else []
    return [draw_case(draw, on, history, fleet) for history in histories]


@st.composite
def cases(draw):
    """One car with its rules, asked about on a day; parts may have come from another."""
    return draw(fleets(at_least=1, at_most=2))[0]


@dataclass
class Drawn:
    """A car without odometer readings, its places and the days on which things happen."""

    vehicle: dict
    components: dict
    days: list


def draw_case(draw, on, history, fleet):
    give_readings(draw, history.vehicle, history.days)
    regime = draw_regime(draw) if draw(UP_TO_TWO) else None
    rules = draw_rules(draw, list(history.components))
    return Case(history.vehicle, rules, regime, iso(on), fleet)


def draw_history(draw, on):
    days = _days(draw, on)
    components = _components(draw)
    registered = on - draw(st.integers(0, 365 * YEARS))
    unit, digits, changed, (season_from, season_to) = draw(PARTICULARS)
    vehicle = {
        "first_registered_on": iso(registered),
        "built_on": draw(st.sampled_from([None, iso(registered), iso(registered - 200)])),
        "substantially_changed": changed,
        "odometer_unit": unit,
        "odometer_digits": digits,
        "expected_annual_distance": draw(EXPECTED_ANNUALLY),
        "season_from_month": season_from,
        "season_to_month": season_to,
        "lay_ups": _lay_ups(draw, on, days),
        "components": [_component_row(*row) for row in components.items()],
        "service_events": _service_events(draw, components, days),
        "inspections": _inspections(draw, components, days),
    }
    return Drawn(vehicle, components, days)


def _days(draw, on):
    """A few days of the years before the day asked about and shortly after it."""
    at_random = st.integers(on - 365 * YEARS, on + 400) | st.integers(on - 1_000, on)
    telling = st.sampled_from([on - 1, on, on + 1, on - 730, *_month_ends(on)])
    days = draw(st.lists(at_random | telling, min_size=8, max_size=12))
    return sorted({*days, on - 365 * 3, on - 400, on - 90})


def _month_ends(on):
    leap = [date(year, 2, 29).toordinal() for year in (2012, 2016, 2020, 2024)]
    year = date.fromordinal(on).year - 2
    ends = [date(year, month, 1).toordinal() - 1 for month in (2, 3, 4, 9, 12)]
    firsts = [date(year - 1, 1, 1).toordinal(), date(year, 10, 1).toordinal()]
    return [day for day in leap if day <= on] + ends + firsts


def _component_row(place, assembly):
    return _part(place) if assembly is None else _part(place) | {"assembly": _part(assembly)}


def _part(place):
    return {"kind": place[0], "position": place[1]}


def _components(draw):
    """Components with the assembly each belongs to, up to three deep."""
    components, depth = {}, {}
    for number in range(1 + draw(UP_TO_FOUR) % 4):
        place = (draw(KINDS), POSITIONS[number])
        holders = [None, *(other for other in components if depth[other] < 2)]
        assembly = holders[-1 - draw(UP_TO_FOUR) % len(holders)]
        components[place] = assembly
        depth[place] = 0 if assembly is None else depth[assembly] + 1
    return components


def _lay_ups(draw, on, days):
    bounds = st.lists(st.sampled_from([*days, on + 37, on + 201]), max_size=8, unique=True)
    bounds = sorted(draw(bounds))
    lay_ups = []
    for start, end in zip(bounds, bounds[1:], strict=False):
        # Two in three gaps between bounds are lay-ups, so that many of them touch.
        if draw(UP_TO_TWO):
            expected = iso(draw(st.integers(start + 1, end + 200))) if draw(ONE_IN_SIX) else None
            row = {"from": iso(start), "to": iso(end), "expected_to": expected}
            lay_ups.append(row | {"storage": draw(GRADES)})
    if lay_ups and draw(YES_NO):
        _leave_open(draw, lay_ups[-1], on)
    return draw(st.permutations(lay_ups))


def _leave_open(draw, lay_up, on):
    start = date.fromisoformat(lay_up["from"]).toordinal()
    expected = draw(st.none() | st.integers(start + 1, max(start + 1, on + 600)) | st.just(on + 1))
    lay_up["to"] = None
    lay_up["expected_to"] = None if expected is None or expected <= start else iso(expected)


def _service_events(draw, components, days):
    events = []
    if draw(UP_TO_FOUR):
        events.append(_fitted_new(components, draw(st.sampled_from(days[:5]))))
    some_day = st.sampled_from(days)
    if draw(YES_NO):
        events += _measured_often(draw, components, days)
    for _ in range(draw(UP_TO_SEVEN)):
        true_day = draw(some_day)
        stated = iso(true_day)[: draw(STATED)]
        entries = [
            _entry(draw, components, days, true_day, stated) for _ in range(1 + draw(UP_TO_TWO))
        ]
        events.append({"on": stated, "true_day": true_day, "entries": entries})
    return events


def _fitted_new(components, day):
    entries = [_part(place) | {"action": "renew"} for place in components]
    return {"on": iso(day), "true_day": day, "entries": entries}


def _measured_often(draw, components, days):
    place = draw(st.sampled_from(list(components)))
    measured_on = draw(st.lists(st.sampled_from(days), min_size=3, max_size=6, unique=True))
    return [
        {
            "on": iso(day),
            "true_day": day,
            "entries": [_part(place) | {"action": "measure"} | _measured(draw, place, day, days)],
        }
        for day in measured_on
    ]


def _measured(draw, place, day, days):
    return {"measurement": _measurement(draw, place[0] in WEARING_KINDS, day - days[0])}


def _entry(draw, components, days, day, stated):
    place = draw(st.sampled_from(list(components)))
    entry = _part(place) | {"action": draw(ACTIONS)}
    if entry["action"] in ("measure", "inspect") and draw(UP_TO_SEVEN):
        entry |= _measured(draw, place, day, days)
    if entry["action"] == "renew":
        if draw(UP_TO_TWO) == 0:
            entry["manufactured"] = _manufactured(draw, stated)
        parts = [part for part in components if _belongs(part, place, components)]
        if parts:
            left = draw(st.lists(st.sampled_from(parts), max_size=2, unique=True))
            entry["carried_over"] = [_part(part) for part in left]
    return entry


def _belongs(part, assembly, components):
    while (part := components[part]) is not None:
        if part == assembly:
            return True
    return False


#: What is lost or gained over the years, and how far a measurement is out; tenths of its unit.
LOST = st.sampled_from(list(product([0, 60, 60, 60, 95], range(-8, 9))))
GAINED = st.sampled_from(list(product([0, 20, 20, 40], range(-4, 5))))


def _measurement(draw, wears_down, age):
    """Linings that wear down and water that gathers, both with noise and the odd outlier."""
    if wears_down:
        lost, noise = draw(LOST)
        value = max(0, 100 - lost * age // (365 * YEARS) + noise)
        return {"quantity": "lining_thickness", "value": Decimal(value) / 10, "unit": "mm"}
    gained, noise = draw(GAINED)
    value = max(0, 5 + gained * age // (365 * YEARS) + noise)
    return {"quantity": "water_content", "value": Decimal(value) / 10, "unit": "%"}


SHELF_DAYS = st.integers(92, 2500)


def _manufactured(draw, stated):
    """A day, month, ISO week or quarter before the first day of what the event states."""
    fitted = date.fromisoformat(stated + "-01-01"[: 10 - len(stated)])
    made = fitted - timedelta(days=draw(SHELF_DAYS))
    week = made.isocalendar()
    quarter = f"{made.year}-Q{(made.month + 2) // 3}"
    return (made.isoformat(), f"{week.year}-W{week.week:02d}", quarter)[draw(UP_TO_TWO)]


VALIDITY = st.integers(0, 800)


def _inspections(draw, components, days):
    inspections = []
    for _ in range(draw(UP_TO_FOUR)):
        day = draw(st.sampled_from(days))
        row = {"on": iso(day), "result": draw(RESULT), "expires_on": None, "findings": []}
        # A pass with a finding is no longer taken, but may be on record.
        if row["result"] == "fail" or draw(ONE_IN_FIVE):
            for _ in range(1 + draw(UP_TO_ONE)):
                found = _part(draw(st.sampled_from(list(components))))
                row["findings"].append(found | {"category": draw(CATEGORIES)})
        if row["result"] == "pass" and draw(YES_NO):
            row["expires_on"] = iso(day + draw(VALIDITY))
        inspections.append(row)
    return inspections
