"""Pictures of a car and of its due items: the figures are gathered here and drawn by `plots`."""

import datetime
from collections.abc import Callable

import numpy as np

from maintenance.engine.days import from_day, to_day
from maintenance.engine.due import RULE
from maintenance.models import DueItem, Inspection, LayUp, ServiceEvent, Vehicle
from maintenance.plots.boiling import BoilingPicture, draw_boiling
from maintenance.plots.wear import WearPicture, draw_wear
from maintenance.plots.years import Stay, YearsPicture, draw_years
from maintenance.queries.column_steps import current
from maintenance.queries.due_answers import Answers
from maintenance.services.condition.facts import Facts
from maintenance.services.condition.fluid import boiling_curve
from maintenance.services.refusals import Problem, Refused

_FLUIDS = ("brake-fluid", "clutch-fluid")
_AHEAD_DAYS = 730


def plots_of(answers: Answers, row: int) -> list[str]:
    """Return which pictures there are of a due item: `wear`, `boiling_point`."""
    return [name for name, draw in _DRAWN.items() if draw(answers, row) is not None]


def plot_of(*, due_item: DueItem, of: str | None, on: datetime.date) -> str:
    """Return a picture of a due item as SVG, as known on a day; the first there is if `of` is None.

    Refused where the item does not exist on that day or there is no such picture of it.
    """
    answers = Answers([due_item.vehicle], on=on)
    row = next((row for row, item in enumerate(answers.items()) if item.key == due_item.key), None)
    if row is None:
        raise Refused([Problem("/on", f"on {on} this item does not exist; ask for another day")])
    for name, draw in _DRAWN.items():
        picture = draw(answers, row) if of in (None, name) else None
        if picture is not None:
            return picture()
    what = of or " or ".join(_DRAWN)
    raise Refused(
        [Problem("/of", f"there is no picture of {what}: nothing was measured or its grade is "
                        "not known")]
    )  # fmt: skip


def _wear(answers: Answers, row: int) -> Callable[[], str] | None:
    answer = answers.answer
    if answer.origin[row] != RULE:
        return None
    item, wear = int(answer.row[row]), answer.by_rule.wear
    first, count = int(wear.first_point[item]), int(wear.point_count[item])
    if not wear.asked[item] or not count:
        return None
    return lambda: draw_wear(_wear_picture(answers, row, item, slice(first, first + count)))


def _wear_picture(answers: Answers, row: int, item: int, points: slice) -> WearPicture:
    wear, rules = answers.answer.by_rule.wear, answers.history.batch.rules
    line, rule = wear.line, int(answers.history.batch.items.rule[item])
    drawn = bool(np.isfinite(line.meets[item]))
    banded = bool(np.isfinite(line.spread[item]))
    least = rules.wear_minimum[rule]
    return WearPicture(
        title=answers.subject(row),
        quantity=str(rules.wear_quantity[rule]).replace("_", " "),
        unit=str(rules.wear_unit[rule]),
        per="aged days" if rules.against_aged_days[rule] else "km",
        use=tuple(wear.points.use[points].tolist()),
        value=tuple(wear.points.value[points].tolist()),
        limit=float(rules.wear_maximum[rule] if np.isnan(least) else least),
        slope=float(line.slope[item]) if drawn else None,
        intercept=float(line.intercept[item]) if drawn else None,
        half=float(line.spread[item] * line.quantile[item]) if banded else None,
        one=1.0 if line.anchored[item] else 1.0 + 1.0 / int(wear.point_count[item]),
        middle=float(line.mean_use[item]),
        squares=float(line.sum_squares[item]),
        due_use=float(line.due[item]) if np.isfinite(line.due[item]) else None,
    )


def _boiling_point(answers: Answers, row: int) -> Callable[[], str] | None:
    item = answers.names_of(int(answers.answer.origin[row]), int(answers.answer.row[row]))
    if item["kind"] not in _FLUIDS or item["task"] != "renew":
        return None
    component = answers.history.components[int(answers.answer.component[row])]
    curve = boiling_curve(Facts(answers, component), to_day(answers.on) + _AHEAD_DAYS)
    if curve is None or curve.fluid.dry_c is None or curve.fluid.wet_c is None:
        return None
    dry, wet = curve.fluid.dry_c, curve.fluid.wet_c
    known = np.flatnonzero(np.isfinite(curve.estimate.central))
    picture = BoilingPicture(
        title=f"{answers.subject(row)}: boiling point",
        grade=curve.fluid.name,
        days=tuple(from_day(curve.days[place]) for place in known),
        low=tuple(curve.estimate.low[known].tolist()),
        central=tuple(curve.estimate.central[known].tolist()),
        high=tuple(curve.estimate.high[known].tolist()),
        dry_c=dry,
        wet_c=wet,
        today=answers.on,
    )
    return lambda: draw_boiling(picture)


_DRAWN = {"wear": _wear, "boiling_point": _boiling_point}


def years_of(*, vehicle: Vehicle, on: datetime.date) -> str:
    """Return a car's years as SVG, from its first record to the day `on`.

    Refused where nothing is on record. Costs three queries.
    """
    day_after = on + datetime.timedelta(days=1)
    stays = tuple(
        Stay(row.from_on, row.to_on or day_after, row.storage)
        for row in current(LayUp, [vehicle]).filter(from_on__lte=on).order_by("from_on")
    )
    services = current(ServiceEvent, [vehicle]).filter(on__lte=on)
    tests = list(current(Inspection, [vehicle]).filter(on__lte=on).values_list("on", "result"))
    done = tuple(services.order_by("on").values_list("on", flat=True))
    days = [*(stay.start for stay in stays), *done, *(day for day, _ in tests)]
    if not days:
        raise Refused([Problem("", "nothing is on record of this car; there are no years to draw")])
    return draw_years(
        YearsPicture(
            title=f"{vehicle.registration}: years in use and laid up",
            first=min(days),
            last=on,
            stays=stays,
            services=done,
            passed=tuple(day for day, result in tests if result == Inspection.Result.PASS),
            failed=tuple(day for day, result in tests if result == Inspection.Result.FAIL),
        )
    )


PICTURES = tuple(_DRAWN)
"""What can be drawn of a due item."""
