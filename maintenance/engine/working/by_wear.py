"""The lines of the wear criterion."""

from decimal import Decimal

import numpy as np

from maintenance.engine.by_wear import ByWear, use_by
from maintenance.engine.days import NEVER, NO_DAY, from_day
from maintenance.engine.due import Answer
from maintenance.engine.wear import LEAST_FOR_BAND
from maintenance.engine.working.lines import Sheet, day_or_none


def wear_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of the day on which measured wear reaches its limit.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        The measurements, the line through them, where it meets the limit, and the band.

    References
    ----------
    .. [1] The rule's own source, named on its line.
    """
    wear, batch = answer.by_rule.wear, answer.shared.batch
    rule = int(batch.items.rule[row])
    unit, quantity = str(batch.rules.wear_unit[rule]), str(batch.rules.wear_quantity[rule])
    minimum, maximum = batch.rules.wear_minimum[rule], batch.rules.wear_maximum[rule]
    falls = not np.isnan(minimum)
    sheet = Sheet()
    words = quantity.replace("_", " ")
    sheet.fact(
        "limit",
        f"{'smallest' if falls else 'largest'} {words} allowed",
        figure(minimum if falls else maximum),
        unit,
        str(batch.rules.source[rule]),
    )
    if wear.fixed[row] >= 0:
        _fixed(sheet, answer, int(wear.fixed[row]), unit)
        return sheet
    if wear.renewed[row] == NO_DAY:
        sheet.remark("No renewal is on record, so no line of wear can be drawn.")
        return sheet
    sheet.fact("renewed_on", "last renewed", from_day(int(wear.renewed[row])))
    _line(sheet, answer, row, rule, unit)
    return sheet


def figure(value: float | np.float64) -> Decimal:
    """Return a floating figure as a decimal of at most seven places.

    Parameters
    ----------
    value : float
        Any finite figure [of any unit].

    Returns
    -------
    Decimal
        Rounded to six places [the same unit].

    References
    ----------
    .. [1] Common practice.
    """
    return Decimal(f"{float(value):.7f}")


def _fixed(sheet: Sheet, answer: Answer, row: int, unit: str) -> None:
    measured = answer.shared.batch.measurements
    sheet.fact("measured", "first measured at or past the limit", figure(measured.value[row]), unit)
    sheet.fact("due_on", "the day of that measurement", from_day(int(measured.day[row])))


def _line(sheet: Sheet, answer: Answer, row: int, rule: int, unit: str) -> None:
    wear, rules = answer.by_rule.wear, answer.shared.batch.rules
    per = "aged day" if rules.against_aged_days[rule] else "km"
    line = wear.line
    if line.anchored[row]:
        _when_new(sheet, answer, row, unit)
    count = _points(sheet, answer, row, unit, per)
    if np.isnan(line.meets[row]):
        sheet.remark(_no_line(answer, row, count))
        return
    names = range(1, count + 1)
    if line.anchored[row]:
        products = " + ".join(f"use_{n} × (value_{n} − new)" for n in names)
        squares = " + ".join(f"use_{n} × use_{n}" for n in names)
        sheet.result(
            "slope", "least squares through the value when new",
            f"({products}) ÷ ({squares})", scientific(line.slope[row]), f"{unit} a {per}",
        )  # fmt: skip
        start = "new"
    else:
        _free_line(sheet, wear, row, count, unit, per)
        start = "intercept"
    sheet.result(
        "meets", "use since the renewal at which the line meets the limit",
        f"(limit − {start}) ÷ slope", figure(line.meets[row]), _units(per),
    )  # fmt: skip
    _governing_use(sheet, answer, row, rule, per)


def _when_new(sheet: Sheet, answer: Answer, row: int, unit: str) -> None:
    fitted = int(answer.by_rule.wear.fitted[row])
    says = "measured at the renewal, after it" if fitted >= 0 else "value when new"
    sheet.fact("new", says, figure(answer.by_rule.wear.new[row]), unit)


def _no_line(answer: Answer, row: int, count: int) -> str:
    """Return why no line meets the limit."""
    line = answer.by_rule.wear.line
    if not count:
        return "Nothing was measured since."
    if line.sum_squares[row] > 0 and (count > 1 or line.anchored[row]):
        return "The line through these does not approach the limit, so there is no date."
    if count == 1 and not line.anchored[row]:
        return (
            "One measurement alone draws no line, and the value when new is not known: measure "
            "again after some use, or state the value when new in the rule."
        )
    return "These were measured without any use between them, so no line can be drawn."


def _points(sheet: Sheet, answer: Answer, row: int, unit: str, per: str) -> int:
    wear, measured = answer.by_rule.wear, answer.shared.batch.measurements
    first, count = int(wear.first_point[row]), int(wear.point_count[row])
    for number in range(count):
        point = first + number
        on = from_day(int(measured.day[wear.point_row[point]]))
        sheet.fact(
            f"use_{number + 1}", f"use from the renewal to {on}",
            figure(wear.points.use[point]), _units(per),
        )  # fmt: skip
        sheet.fact(
            f"value_{number + 1}", f"measured on {on}", figure(wear.points.value[point]), unit
        )
    return count


def _units(per: str) -> str:
    return "aged days" if per == "aged day" else per


def scientific(value: float | np.float64) -> Decimal:
    """Return a floating figure as a decimal of twelve significant digits.

    Parameters
    ----------
    value : float
        Any finite figure [of any unit].

    Returns
    -------
    Decimal
        Rounded to twelve significant digits [the same unit].

    References
    ----------
    .. [1] Common practice.
    """
    return Decimal(f"{float(value):.12g}")


def _free_line(sheet: Sheet, wear: ByWear, row: int, count: int, unit: str, per: str) -> None:
    line, names = wear.line, range(1, count + 1)
    uses = " + ".join(f"use_{n}" for n in names)
    values = " + ".join(f"value_{n}" for n in names)
    mean_value = line.intercept[row] + line.slope[row] * line.mean_use[row]
    sheet.result(
        "mean_use", "mean use", f"({uses}) ÷ {count}", scientific(line.mean_use[row]), _units(per)
    )
    sheet.result("mean_value", "mean value", f"({values}) ÷ {count}", scientific(mean_value), unit)
    products = " + ".join(f"(use_{n} − mean_use) × (value_{n} − mean_value)" for n in names)
    squares = " + ".join(f"(use_{n} − mean_use) × (use_{n} − mean_use)" for n in names)
    sheet.result(
        "slope", "ordinary least squares", f"({products}) ÷ ({squares})",
        scientific(line.slope[row]), f"{unit} a {per}",
    )  # fmt: skip
    sheet.result(
        "intercept", "value of the line at the renewal", "mean_value − slope × mean_use",
        scientific(line.intercept[row]), unit,
    )  # fmt: skip


def _governing_use(sheet: Sheet, answer: Answer, row: int, rule: int, per: str) -> None:
    wear, line = answer.by_rule.wear, answer.by_rule.wear.line
    governs = "meets"
    safety = answer.shared.batch.rules.criticality[rule] == 0
    if not np.isnan(line.early[row]):
        _band_lines(sheet, answer, row, per)
        governs = "early" if safety else "meets"
    elif safety and line.meets[row] > line.latest_use[row]:
        sheet.result(
            "shortened",
            f"a matter of safety with fewer than {LEAST_FOR_BAND} measurements: "
            "the way still to go is shortened by a fifth",
            f"use_{int(wear.point_count[row])} + 0.8 × (meets − use_{int(wear.point_count[row])})",
            figure(line.due[row]),
            _units(per),
        )
        governs = "shortened"
    if wear.day[row] == NEVER:
        rate = answer.shared.forecast.central.days[vehicle_of(answer, row)]
        sheet.remark(
            "At the rate known this use is not reached, so there is no date."
            if rate or per == "aged day"
            else "There is no rate: too few readings, and no expected annual distance. So there is "
            "no date."
        )
        return
    sheet.fact(
        "due_on", f"smallest day on which the use reaches `{governs}`", day_or_none(wear.day[row])
    )
    used = use_by(answer.shared, wear, row, int(wear.day[row]))
    sheet.fact("use_by_due_day", "use from the renewal to that day", figure(used), _units(per))
    sheet.result(
        "reached", "use by the due day less the use that governs: not below nought",
        f"use_by_due_day − {governs}", figure(used - line.due[row]), _units(per),
    )  # fmt: skip


def vehicle_of(answer: Answer, row: int) -> int:
    """Return the car of an item.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    int
        Row of the car in the batch.

    References
    ----------
    .. [1] Common practice.
    """
    batch = answer.shared.batch
    return int(batch.components.vehicle[batch.items.component[row]])


def _band_lines(sheet: Sheet, answer: Answer, row: int, per: str) -> None:
    """Write the band's edges: where (way − slope × z)² = half² × (one + z² ÷ squares)."""
    line, count = answer.by_rule.wear.line, int(answer.by_rule.wear.point_count[row])
    anchored = bool(line.anchored[row])
    start = "new" if anchored else "intercept"
    rest = " + ".join(f"({_residual(n, start)}) × ({_residual(n, start)})" for n in _upto(count))
    freedom = count - (1 if anchored else 2)
    sheet.result(
        "spread", "residual standard deviation", f"root(({rest}) ÷ {freedom})",
        scientific(line.spread[row]),
    )  # fmt: skip
    sheet.fact(
        "quantile", f"Student's t at 90 % with {freedom} degrees of freedom",
        scientific(line.quantile[row]),
    )  # fmt: skip
    middle, level = ("0", "new") if anchored else ("mean_use", "mean_value")
    squares = " + ".join(f"(use_{n} − {middle}) × (use_{n} − {middle})" for n in _upto(count))
    sheet.result(
        "squares", "squares of the use about its middle", squares,
        scientific(line.sum_squares[row]),
    )  # fmt: skip
    half = line.spread[row] * line.quantile[row]
    sheet.result("half", "half the width of the band", "spread × quantile", scientific(half))
    steep = line.slope[row] ** 2 - half**2 / line.sum_squares[row]
    _edges(sheet, answer, row, per, (middle, level), steep > 0)


def _upto(count: int) -> range:
    return range(1, count + 1)


def _residual(number: int, start: str) -> str:
    return f"value_{number} − {start} − slope × use_{number}"


def _edges(
    sheet: Sheet, answer: Answer, row: int, per: str, centre: tuple[str, str], steep: bool
) -> None:
    line, (middle, level) = answer.by_rule.wear.line, centre
    words = "80 % prediction interval of one more measurement"
    early, late = line.early[row], line.late[row]
    if not steep:
        sheet.fact("early", f"early edge of the {words}", figure(early), _units(per))
        sheet.remark(f"The {words} has no late edge: the slope is not certain enough.")
        return
    one = "1" if line.anchored[row] else f"(1 + 1 ÷ {int(answer.by_rule.wear.point_count[row])})"
    a = "(slope × slope − half × half ÷ squares)"
    b = f"slope × (limit − {level})"
    c = f"((limit − {level}) × (limit − {level}) − half × half × {one})"
    spread = f"root({b} × {b} − {a} × {c})"
    sheet.result(
        "early", f"early edge of the {words}, not before the renewal",
        f"latest(0, {middle} + ({b} − {spread}) ÷ {a})", figure(early), _units(per),
    )  # fmt: skip
    sheet.result(
        "late", f"late edge of the {words}", f"{middle} + ({b} + {spread}) ÷ {a}", figure(late),
        _units(per),
    )  # fmt: skip
