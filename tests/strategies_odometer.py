"""Odometer readings for generated cars: driven forward in time, then written down as shown."""

from dataclasses import dataclass
from decimal import Decimal
from itertools import product

from hypothesis import strategies as st

from tests.reference.dates import iso, span
from tests.reference.odometer import tenths

#: Tenths of a unit a day: standing, little used, much used. The most is 88 000 km a year in miles,
#: under the 100 000 km beyond which a fall is no roll-over.
#: None goes on at the pace before. To it come a few tenths.
PACES = st.sampled_from(list(product([None] * 6 + [0, 7, 60, 250, 500, 1_500], range(10))))
UP_TO_SIX = st.integers(0, 6)
YES_NO = st.booleans()
ONE_IN_THREE = st.integers(0, 2).map(lambda drawn: drawn == 0)
BEFORE_OR_AFTER = st.sampled_from([0, 2])


@dataclass
class Seen:
    """A day on which the odometer was seen; `row` and `name` say where that is written down.

    `turn` counts changed instruments and passes of the last digit. `rank` orders what happens on
    one day: before an instrument is changed, the change itself, after it.
    """

    day: int
    rank: int
    row: dict
    name: str
    turn: int = 0

    @property
    def is_change(self):
        return self.name == "old_value"

    @property
    def is_undated(self):
        return len(self.row["on"]) < 10


def give_readings(draw, vehicle, days):
    """Fill in the readings, changed instruments and odometers of events and inspections."""
    vehicle["odometer_readings"], vehicle["odometer_changes"] = [], []
    all_seen = _all_seen(draw, vehicle, days) if draw(UP_TO_SIX) else []
    all_seen.sort(key=lambda seen: (seen.day, seen.rank))
    _drive(draw, all_seen, 10 ** (vehicle["odometer_digits"] + 1))
    for seen in all_seen:
        if not seen.is_change and not _can_be_placed(seen, all_seen, vehicle):
            seen.row[seen.name] = None
    for event in vehicle["service_events"]:
        del event["true_day"]
    kept = [row for row in vehicle["odometer_readings"] if row["value"] is not None]
    vehicle["odometer_readings"] = draw(st.permutations(kept))


def _all_seen(draw, vehicle, days):
    all_seen, some_day = [], st.sampled_from(days)
    for _ in range(draw(UP_TO_SIX)):
        day = draw(some_day)
        vehicle["odometer_readings"].append({"on": iso(day), "value": None})
        row = vehicle["odometer_readings"][-1]
        all_seen.append(Seen(day, draw(BEFORE_OR_AFTER), row, "value"))
    for event in vehicle["service_events"]:
        if draw(YES_NO):
            all_seen.append(Seen(event["true_day"], draw(BEFORE_OR_AFTER), event, "odometer"))
    for test in vehicle["inspections"]:
        if draw(YES_NO):
            all_seen.append(Seen(span(test["on"])[0], 0, test, "odometer"))
    for day in draw(st.lists(st.sampled_from(days), max_size=2, unique=True)):
        if draw(ONE_IN_THREE):
            vehicle["odometer_changes"].append({"on": iso(day)})
            all_seen.append(Seen(day, 1, vehicle["odometer_changes"][-1], "old_value"))
    return all_seen


def _drive(draw, all_seen, around):
    """Write down what the odometer shows each time it is seen; `around` takes it back to 0."""
    shown = draw(st.sampled_from([0, 123_450, around - 3_000, around - 200_000]))
    pace, turn, last = 0, 0, None
    for seen in all_seen:
        new_pace, a_little = draw(PACES)
        pace = pace if new_pace is None else new_pace
        step = a_little if last is not None else 0
        if last == seen.day:
            # Which of two readings came first could not be told had it turned over between them.
            step = min(step, around - 1 - shown)
        elif last is not None:
            step = min(step + (seen.day - last) * pace, around - 1)
        turn += shown + step >= around
        shown, last = (shown + step) % around, seen.day
        seen.row[seen.name] = _written(shown)
        if seen.is_change:
            shown = draw(st.sampled_from([0, 0, 120, 300_000, around - 500]))
            seen.row["new_value"] = _written(shown)
            turn += 1
        seen.turn = turn


def _written(value):
    return Decimal(value) / 10 if value % 10 else value // 10


def _can_be_placed(seen, all_seen, vehicle):
    if seen.is_undated:
        return _its_day_can_be_found(seen, all_seen)
    changes = [row for row in vehicle["odometer_changes"] if row["on"] == seen.row["on"]]
    return not changes or _its_instrument_can_be_told(seen, changes[0])


def _its_instrument_can_be_told(seen, change):
    shown, old, new = (
        tenths(value) for value in (seen.row[seen.name], change["old_value"], change["new_value"])
    )
    return (abs(shown - old) <= abs(shown - new)) == (seen.rank == 0)


def _its_day_can_be_found(seen, all_seen):
    """Whether no other undated reading and no turn of the odometer puts its order in doubt."""
    first, last = span(seen.row["on"])
    others = [other for other in all_seen if other is not seen]
    within = [other for other in others if first <= other.day <= last]
    before = [other for other in others if other.day < first][-1:]
    return (
        not any(other.is_undated for other in others)
        and not any(other.is_change for other in within)
        and all(other.turn == seen.turn for other in within + before)
    )
