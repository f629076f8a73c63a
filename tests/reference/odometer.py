"""How far a car has gone by any day, in whole tenths of a millimetre."""

from fractions import Fraction

from tests.reference.dates import day, span

TENTHS_OF_MM = {"km": 10_000_000, "mi": 16_093_440}
#: Before there were cars: 65 536 days before 1970. Which day matters only to the last tenth of mm.
LONG_AGO = day("1970-01-01") - 65_536
WINDOW_DAYS = 730
LEAST_DAYS_IN_USE = 28


def tenths(value):
    """A reading in tenths of the odometer's unit."""
    scaled = Fraction(str(value)) * 10
    assert scaled.denominator == 1, f"{value} has more than one decimal"
    return int(scaled)


def plain_readings(vehicle):
    """Every plain reading as (day, tenths); those of undated events find their day here."""
    dated = [(day(row["on"]), tenths(row["value"])) for row in vehicle["odometer_readings"]]
    dated += [
        (day(row["on"]), tenths(row["odometer"]))
        for row in vehicle["inspections"]
        if row.get("odometer") is not None
    ]
    undated = []
    for event in vehicle["service_events"]:
        if event.get("odometer") is not None:
            first, last = span(event["on"])
            row = (first, last, tenths(event["odometer"]))
            if first == last:
                dated.append((first, row[2]))
            else:
                undated.append(row)
    known = dated + [
        (day(row["on"]), tenths(row[name]))
        for row in vehicle["odometer_changes"]
        for name in ("old_value", "new_value")
    ]
    return dated + [(_placed(row, known), row[2]) for row in undated]


def _placed(row, known):
    first, last, value = row
    return max([first, *(on for on, shown in known if first <= on <= last and shown <= value)])


class Odometer:
    def __init__(self, vehicle, standing, on):
        self.standing = standing
        self.unit = TENTHS_OF_MM[vehicle["odometer_unit"]] // 10
        self.around = 10 ** (vehicle["odometer_digits"] + 1)
        self.shown = None
        self.readings = []
        self.every_reading = []
        self._unroll(vehicle, on)
        self.rate, self.slow, self.fast = self._rates(vehicle, on)

    def _unroll(self, vehicle, on):
        plain = {}
        for when, value in plain_readings(vehicle):
            plain.setdefault(when, []).append(value)
        changes = {day(row["on"]): row for row in vehicle["odometer_changes"]}
        for when in sorted({*plain, *changes}):
            if when > on:
                break
            values = plain.get(when, [])
            if when not in changes:
                self._read(when, values)
                continue
            old, new = (tenths(changes[when][name]) for name in ("old_value", "new_value"))
            on_old = [value for value in values if abs(value - old) <= abs(value - new)]
            on_new = [value for value in values if abs(value - old) > abs(value - new)]
            self._read(when, [old, *on_old])
            self.shown = new
            self._read(when, [new, *on_new])

    def _read(self, when, values):
        # A day on which the last digit is passed begins with the great readings.
        def in_turn(value):
            return value + self.around if 2 * (max(values) - value) > self.around else value

        for value in sorted(values, key=in_turn):
            self._read_one(when, value)

    def _read_one(self, when, value):
        if not self.readings:
            self.readings.append((when, value * self.unit))
        else:
            gone = self.readings[-1][1] + (value - self.shown) % self.around * self.unit
            if self.readings[-1][0] == when:
                self.readings.pop()
            self.readings.append((when, gone))
        self.shown = value
        self.every_reading.append((self.readings[-1][1], value))

    def _rates(self, vehicle, on):
        """Tenths of a millimetre a day in use: as expected, slow and fast."""
        if self.readings:
            latest = self.readings[-1]
            recent = [row for row in self.readings if row[0] >= latest[0] - WINDOW_DAYS]
            used = self.standing.days_in_use(recent[0][0], latest[0])
            if used >= LEAST_DAYS_IN_USE:
                segments = self._segments(recent)
                rate = Fraction(latest[1] - recent[0][1], used)
                return rate, _percentile(segments, 1), _percentile(segments, 9)
        expected = vehicle.get("expected_annual_distance")
        if expected is None:
            return None, None, None
        share = Fraction(self.standing.days_in_use(on - 1826, on), 1826)
        yearly = Fraction(str(expected)) * self.unit * 10
        rate = yearly / (Fraction(1461, 4) * max(share, Fraction(1, 4)))
        return rate, rate, rate

    def _segments(self, recent):
        segments = []
        for (first, gone), (until, further) in zip(recent, recent[1:], strict=False):
            used = self.standing.days_in_use(first, until)
            if used:
                segments.append((Fraction(further - gone, used), used))
        return sorted(segments)

    def gone(self, first, until, rate=None):
        """Distance from one day to a later one; `rate` holds after the latest reading."""
        return self.at(until, rate) - self.at(first, rate)

    def at(self, when, rate=None):
        """True distance at the beginning of a day.

        Without a reading it is counted from long ago, so that only differences mean anything;
        where no rate is known either, nothing is counted.
        """
        rate = self.rate if rate is None else rate
        if not self.readings:
            return _floor(self.standing.days_in_use(LONG_AGO, when) * (rate or 0))
        first, latest = self.readings[0], self.readings[-1]
        if when < first[0]:
            if self.rate is None:
                return first[1]
            back = _floor(self.standing.days_in_use(when, first[0]) * self.rate)
            return max(0, first[1] - back)
        if when >= latest[0]:
            ahead = 0 if rate is None else self.standing.days_in_use(latest[0], when) * rate
            return latest[1] + _floor(ahead)
        return self._between(when)

    def _between(self, when):
        earlier = [row for row in self.readings if row[0] <= when][-1]
        later = next(row for row in self.readings if row[0] > when)
        used = self.standing.days_in_use(earlier[0], later[0])
        if not used:
            return earlier[1]
        part = self.standing.days_in_use(earlier[0], when)
        return earlier[1] + _floor(Fraction(part * (later[1] - earlier[1]), used))

    def reading_at(self, distance):
        """What the instrument of the time shows, in tenths, once a true distance is reached."""
        if not self.readings:
            return None
        known = [row for row in self.every_reading if row[0] <= distance]
        gone, shown = known[-1] if known else self.every_reading[0]
        shows = shown + (distance - gone) // self.unit
        return shows % self.around if shows >= 0 else None


def _floor(value):
    return value.numerator // value.denominator


def _percentile(segments, ninths_of_ten):
    """The smallest rate with that many tenths of all days in use at it or below."""
    total = sum(weight for _, weight in segments)
    reached = 0
    for rate, weight in segments:
        reached += weight
        if 10 * reached >= ninths_of_ten * total:
            return rate
    return None
