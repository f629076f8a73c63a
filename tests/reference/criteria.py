"""Each way in which an item can fall due, found by walking from day to day."""

from dataclasses import dataclass
from fractions import Fraction

from tests.reference.dates import add_months
from tests.reference.standing import FOREVER


@dataclass(frozen=True)
class Criterion:
    name: str
    day: int | None
    early: int | None = None
    late: int | None = None


def without_band(name, day):
    return Criterion(name, day, day, day)


def within_band(name, day, early, late):
    """A criterion whose band holds its day, which can lie outside the middle of the rates."""
    if day is None:
        return Criterion(name, None, early, None)
    return Criterion(
        name,
        day,
        day if early is None else min(early, day),
        None if late is None else max(late, day),
    )


def first_day(met, start, horizon):
    """The smallest day on which a condition that never ends again holds; None beyond the horizon.

    Half-years are stepped over while they end without it, or a century would take too long.
    """
    if start > horizon or not met(horizon):
        return None
    day = start
    while not met(min(day + 182, horizon)):
        day += 182
    while not met(day):
        day += 1
    return day


def what_days_count(rule):
    """What one day adds to a component's age by storage grade, in hundredths of a day."""
    counts = {grade: Fraction(str(f)) * 100 for grade, f in rule["lay_up"]["factors"].items()}
    assert all(count.denominator == 1 for count in counts.values()), "two decimals at most"
    return {None: 100} | {grade: int(count) for grade, count in counts.items()}


def aged(rule, standing, start, until):
    counts = what_days_count(rule)
    return sum(counts[standing.grade(day)] for day in range(start, until))


def day_aged(rule, standing, start, wanted, horizon, fitted=None):
    """The smallest day by which a component has aged so many hundredths of a day."""
    counts = what_days_count(rule)
    day, age = start, 0
    while age < wanted:
        if day >= horizon:
            return None
        on_the_shelf = fitted is not None and day < fitted
        age += 100 if on_the_shelf else counts[standing.grade(day)]
        day += 1
    return day


def time_due(rule, standing, reset, horizon):
    start = reset.day
    if rule.get("counts_shelf_age") and reset.made is not None:
        start = min(start, reset.made)
    limit = 100 * (add_months(start, rule["months"]) - start)
    return without_band("time", day_aged(rule, standing, start, limit, horizon, fitted=reset.day))


def storage_care_due(rule, standing, reset, on, horizon):
    period = standing.period(on)
    start = max(period.start, reset.day) if reset else period.start
    limit = 100 * (add_months(start, rule["months"]) - start)
    day = day_aged(rule, standing, start, limit, horizon)
    return without_band("time", None if day is None or day > period.end else day)


class Distance:
    """A rule's distance since the last resetting entry, the penalty for standing included."""

    def __init__(self, rule, odometer, standing, start):
        self.odometer, self.standing, self.start = odometer, standing, start
        self.limit = tenths_of_mm(rule["distance_km"])
        self.penalty = tenths_of_mm(rule["lay_up"].get("km_per_month", 0))

    def standing_penalty(self, until):
        months = Fraction(self.standing.laid_up_days(self.start, until) * 1600, 48699)
        return int(self.penalty * months // 1)

    def gone(self, until, rate=None):
        return self.odometer.gone(self.start, until, rate) + self.standing_penalty(until)

    def due(self, horizon):
        days = [
            first_day(
                lambda day, rate=rate: self.gone(day, rate) >= self.limit, self.start, horizon
            )
            for rate in (None, self.odometer.fast, self.odometer.slow)
        ]
        return within_band("distance", *days)

    def due_at_odometer(self, on):
        if not self.odometer.readings:
            return None
        reached = self.odometer.at(self.start) + self.limit - self.standing_penalty(on)
        return self.odometer.reading_at(reached)


def tenths_of_mm(km):
    scaled = Fraction(str(km)) * 10_000_000
    assert scaled.denominator == 1
    return int(scaled)


def first_use_due(rule, standing, start, on):
    """The first-use criterion, and whether the lay-up that lasts on `on` has run long enough."""
    days, waits = [], False
    for period in standing.periods:
        if period.start > on:
            continue
        end = on if period.end == FOREVER else period.end
        stood_from = max(period.start, start)
        if end > start and add_months(stood_from, rule["before_use_after_months"]) <= end:
            waits = waits or period.holds(on)
            days.append(period.known_end)
    known = [day for day in days if day is not None]
    return without_band("first_use", min(known, default=None)), waits
