"""Measured wear carried on to its limit, in exact fractions but for the quantile of Student's t."""

import math
from decimal import Decimal, localcontext
from fractions import Fraction

from tests.reference.criteria import aged, day_aged, first_day, within_band, without_band


def wear_due(rule, component, history, odometer, standing, horizon):
    """The wear criterion, and whether anything was measured since the renewal."""
    limit = Limit(rule["wear"])
    renewed = history.last_renewal(component)
    points = [
        (day, Fraction(value))
        for day, value in history.measurements(component, rule["wear"]["quantity"])
    ]
    worn = [day for day, value in points if limit.reached(value)]
    if worn or renewed is None:
        return without_band("wear", min(worn, default=None)), bool(points)
    # What was measured after the fitting but on its day is what the part was like when new.
    limit.new = next((value for day, value in points[::-1] if day == renewed), limit.new)
    points = [point for point in points if point[0] > renewed]
    base = Base(rule, odometer, standing, renewed, horizon)
    line = fit([(base.at(day), value) for day, value in points], limit.new)
    if line is None or not limit.approached_by(line.slope):
        return without_band("wear", None), bool(points)
    return _from_line(rule, line, limit, base), True


def _from_line(rule, line, limit, base):
    meets = (limit.value - line.start) / line.slope
    if len(line.points) < 3:
        latest = max(x for x, _ in line.points)
        if rule["criticality"] == "safety" and meets > latest:
            meets = latest + Fraction(4, 5) * (meets - latest)
        return without_band("wear", base.day(meets))
    early, late = line.band(limit.value)
    first, last = base.day(early), None if late is None else base.day(late)
    governing = first if rule["criticality"] == "safety" else base.day(meets)
    return within_band("wear", governing, first, last)


class Limit:
    def __init__(self, wear):
        self.least = wear.get("minimum") is not None
        self.value = Fraction(str(wear["minimum" if self.least else "maximum"]))
        self.new = None if wear.get("new") is None else Fraction(str(wear["new"]))

    def reached(self, value):
        return value <= self.value if self.least else value >= self.value

    def approached_by(self, slope):
        return slope < 0 if self.least else slope > 0


class Base:
    """What wear is set against since the renewal: distance or aged days, as whole numbers."""

    def __init__(self, rule, odometer, standing, renewed, horizon):
        self.rule, self.odometer, self.standing = rule, odometer, standing
        self.renewed, self.horizon = renewed, horizon
        self.by_distance = rule["wear"].get("against", "distance") == "distance"

    def at(self, day):
        if self.by_distance:
            return self.odometer.gone(self.renewed, day)
        return aged(self.rule, self.standing, self.renewed, day)

    def day(self, wanted):
        wanted = math.floor(wanted + Fraction(1, 2))
        if not self.by_distance:
            return day_aged(self.rule, self.standing, self.renewed, wanted, self.horizon)
        return first_day(
            lambda day: self.odometer.gone(self.renewed, day) >= wanted, self.renewed, self.horizon
        )


def fit(points, new):
    """The line of least squares: through the value when new where that is known."""
    if new is not None:
        return Anchored(points, new) if any(x for x, _ in points) else None
    return Free(points) if len({x for x, _ in points}) > 1 else None


class Anchored:
    """value = new + slope x"""

    def __init__(self, points, new):
        self.points, self.start = points, new
        self.squares = sum(Fraction(x) ** 2 for x, _ in points)
        self.slope = sum(x * (y - new) for x, y in points) / self.squares
        self.freedom = len(points) - 1

    def band(self, limit):
        """Where a new measurement's 80 % interval first and last holds the limit."""
        variance = _variance(self)
        return _inverted(limit - self.start, self.slope, variance, 1, self.squares, Fraction(0))


class Free:
    """value = start + slope x"""

    def __init__(self, points):
        self.points, count = points, len(points)
        self.middle = Fraction(sum(x for x, _ in points), count)
        self.level = sum(y for _, y in points) / count
        self.squares = sum((x - self.middle) ** 2 for x, _ in points)
        rise = sum((x - self.middle) * (y - self.level) for x, y in points)
        self.slope = rise / self.squares
        self.start = self.level - self.slope * self.middle
        self.freedom = count - 2

    def band(self, limit):
        variance = _variance(self)
        own = 1 + Fraction(1, len(self.points))
        return _inverted(limit - self.level, self.slope, variance, own, self.squares, self.middle)


def _variance(line):
    """Square of t s, exact but for t."""
    residuals = sum((y - line.start - line.slope * x) ** 2 for x, y in line.points)
    return Fraction(student_80(line.freedom)) ** 2 * residuals / line.freedom


def _inverted(way, slope, variance, own, squares, middle):
    """Solve (way - slope u)² = variance (own + u²/squares) for u = x - middle.

    The band reaches from where the line meets the limit as far back and forth as the interval
    goes on holding it: without end where the slope is too uncertain.
    """
    a = slope**2 - variance / squares
    b = way * slope
    c = way**2 - variance * own
    if a == 0:
        return max(Fraction(0), middle + c / (2 * b)), None
    if b * b < a * c:
        return Fraction(0), None
    first, last = sorted((b + sign * _root(b * b - a * c)) / a for sign in (-1, 1))
    if a > 0:
        return max(Fraction(0), middle + first), middle + last
    if way / slope >= last:
        return max(Fraction(0), middle + last), None
    return Fraction(0), None


def _root(value):
    with localcontext() as context:
        context.prec = 60
        root = (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()
    return Fraction(root)


def student_80(freedom):
    """The t within which four fifths of Student's distribution lie, by halving."""
    low, high = 0.0, 8.0
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if _student_within(middle, freedom) < 0.8 else (low, middle)
    return high


def _student_within(t, freedom):
    """P(|T| <= t) as a finite series (Abramowitz & Stegun 1964, 26.7.3 and 26.7.4)."""
    angle = math.atan2(t, math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    if freedom % 2:
        term, total = cosine, 0.0
        for step in range(1, freedom - 1, 2):
            total += term
            term *= cosine**2 * (step + 1) / (step + 2)
        return 2 / math.pi * (angle + sine * total)
    term, total = 1.0, 0.0
    for step in range(0, freedom - 1, 2):
        total += term
        term *= cosine**2 * (step + 1) / (step + 2)
    return sine * total
