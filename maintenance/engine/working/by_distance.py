"""The lines of the distance criterion."""

from decimal import Decimal

import numpy as np

from maintenance.engine.by_distance import standing_distance
from maintenance.engine.days import NEVER, from_day
from maintenance.engine.due import Answer
from maintenance.engine.forecast import LEAST_SHARE, SHARE_DAYS
from maintenance.engine.lay_ups import days_in_use, laid_up_days
from maintenance.engine.lives import ON_A_SHELF
from maintenance.engine.odometer import Rate
from maintenance.engine.units import TENTH_MM_PER_MILE
from maintenance.engine.working.lines import Sheet, km
from maintenance.engine.working.starts import start_lines


def distance_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of the day on which a rule's distance is reached.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        Distance at the start, so far and by the due day, the rate, the penalty for standing, and
        the same at the two edges of the band.

    References
    ----------
    .. [1] The rule's own source, named on its line.
    """
    found, batch, on = answer.by_rule.distance, answer.shared.batch, answer.shared.on
    rule = int(batch.items.rule[row])
    sheet = start_lines(answer, row)
    source = str(batch.rules.source[rule])
    limit = km(batch.rules.distance[rule])
    sheet.fact("limit", "limit of the rule", limit, "km", source)
    vehicle = int(answer.by_rule.time.clock.vehicle[row])
    _rate_lines(sheet, answer, vehicle)
    at_start, on_day = km(found.at_start[row]), km(found.on_day[row])
    says = "true distance on the day of the start"
    if answer.by_rule.time.clock.start[row] < answer.shared.lives.since[vehicle]:
        says += ", by the car it is on now less what it covered before it came there"
    sheet.fact("travelled_at_start", says, at_start, "km")
    sheet.fact("on", "the day asked about", from_day(on))
    sheet.fact("travelled_on", "true distance on the day asked about", on_day, "km")
    _standing(sheet, answer, row, on, "standing_on")
    sheet.result(
        "covered_on",
        "counted so far",
        "travelled_on − travelled_at_start + standing_on",
        on_day - at_start + km(found.standing[row]),
        "km",
    )
    if found.shown[row] >= 0:
        unit = "mi" if batch.vehicles.odometer_unit[vehicle] == TENTH_MM_PER_MILE else "km"
        shows = Decimal(int(found.shown[row])) / 10
        says = "what the odometer shows when the limit is reached, if the car stands no more"
        sheet.fact("due_at_odometer", says, shows, unit)
    _day_and_band(sheet, answer, row, vehicle)
    return sheet


def _day_and_band(sheet: Sheet, answer: Answer, row: int, vehicle: int) -> None:
    found, rates = answer.by_rule.distance, answer.shared.forecast
    if found.day[row] == NEVER:
        sheet.remark(
            "The car is not driven on so far as is known: the distance has no date."
            if rates.central.days[vehicle]
            else "Without a rate the distance has no date."
        )
        return
    _by_due_day(sheet, answer, row)
    due, early, late = (int(days[row]) for days in (found.day, found.early, found.late))
    for name, rate, day, beyond in (
        ("early", rates.early, early, early <= due),
        ("late", rates.late, late, due <= late),
    ):
        # An edge that the stretches put on the wrong side of the due day is that day itself.
        if rates.from_readings[vehicle] and day != NEVER and beyond:
            _edge(sheet, answer, row, name, rate.of(np.array([vehicle])), day)


def _standing(sheet: Sheet, answer: Answer, row: int, day: int, name: str) -> None:
    batch, clock = answer.shared.batch, answer.by_rule.time.clock
    per_month = batch.rules.standing_per_month[batch.items.rule[[row]]]
    laid_up = laid_up_days(
        answer.shared.stands, clock.vehicle[[row]], clock.start[[row]], np.array([day])
    )
    sheet.fact(
        f"{name}_days", f"days laid up from the start to {from_day(day)}", int(laid_up[0]), "days"
    )
    if "per_month" not in sheet.values:
        sheet.fact("per_month", "what a month of standing counts for", km(per_month[0]), "km")
    penalty = km(standing_distance(per_month, laid_up)[0])
    sheet.result(
        name,
        "what the standing counts for",
        f"down(per_month × {name}_days ÷ 30.436875)",
        penalty,
        "km",
        "mean Gregorian month of 30.436875 days",
    )


def _rate_lines(sheet: Sheet, answer: Answer, vehicle: int) -> None:
    rates, distance = answer.shared.forecast, answer.shared.distance
    if answer.shared.lives.car[vehicle] == ON_A_SHELF:
        sheet.remark("The part is on a shelf, where it covers no distance.")
        return
    if not rates.central.days[vehicle]:
        sheet.remark("No rate: too few readings, and no expected annual distance.")
        return
    if rates.from_readings[vehicle]:
        last = int(distance.first[vehicle] + distance.count[vehicle] - 1)
        first = int(rates.window_first[vehicle])
        says = f"between the readings of {from_day(int(distance.day[first]))} and "
        says += str(from_day(int(distance.day[last])))
        sheet.fact("rate_distance", f"driven {says}", km(rates.central.distance[vehicle]), "km")
        sheet.fact("rate_days", f"days in use {says}", int(rates.central.days[vehicle]), "days")
        return
    _expected_lines(sheet, answer, vehicle)


def _expected_lines(sheet: Sheet, answer: Answer, vehicle: int) -> None:
    cars, used = answer.shared.batch.vehicles, int(answer.shared.forecast.used[vehicle])
    yearly = km(cars.expected_annual[vehicle] * cars.odometer_unit[vehicle])
    sheet.fact("expected", "expected in a year, by the keeper", yearly, "km")
    least = Decimal(SHARE_DAYS * LEAST_SHARE[0]) / LEAST_SHARE[1]
    used_days = max(Decimal(used), least)
    sheet.fact(
        "used", f"days in use of the last {SHARE_DAYS}, at least a quarter", used_days, "days"
    )
    sheet.result(
        "rate_distance", f"the expected distance over {SHARE_DAYS} days",
        f"expected × {SHARE_DAYS}", yearly * SHARE_DAYS, "km",
    )  # fmt: skip
    sheet.result(
        "rate_days", "the days in use it is spread over", "365.25 × used",
        Decimal("365.25") * used_days, "days",
    )  # fmt: skip


def _by_due_day(sheet: Sheet, answer: Answer, row: int) -> None:
    found, shared = answer.by_rule.distance, answer.shared
    day = int(found.day[row])
    vehicle = answer.by_rule.time.clock.vehicle[[row]]
    sheet.fact("due_on", "smallest day on which the limit is reached", from_day(day))
    travelled = km(shared.travelled(vehicle, np.array([day]))[0])
    last = int(shared.distance.first[vehicle[0]] + shared.distance.count[vehicle[0]] - 1)
    # Before the part came to this car, its distance is another car's.
    here = day >= shared.lives.since[vehicle[0]]
    if here and shared.distance.count[vehicle[0]] and day >= shared.distance.day[last]:
        since = shared.distance.day[[last]]
        sheet.fact("latest_on", "day of the latest reading", from_day(int(since[0])))
        sheet.fact(
            "latest", "true distance at the latest reading",
            km(shared.distance.travelled[last]), "km",
        )  # fmt: skip
        car = shared.lives.car[vehicle]
        ahead = int(days_in_use(shared.stands, car, since, np.array([day]))[0])
        if ahead and "rate_days" in sheet.values:
            sheet.fact("ahead", "days in use from then to the due day", ahead, "days")
            sheet.result(
                "travelled_by_due_day", "true distance on the due day",
                "latest + share(ahead, rate_distance, rate_days)", travelled, "km",
            )  # fmt: skip
        else:
            sheet.result(
                "travelled_by_due_day", "true distance on the due day", "latest", travelled, "km"
            )
    else:
        sheet.fact("travelled_by_due_day", "true distance on the due day", travelled, "km")
    _standing(sheet, answer, row, day, "standing_by_due_day")
    covered = travelled - km(found.at_start[row]) + sheet.number("standing_by_due_day")
    sheet.result(
        "reached", "counted by the due day less the limit: not below nought",
        "travelled_by_due_day − travelled_at_start + standing_by_due_day − limit",
        covered - sheet.number("limit"), "km",
    )  # fmt: skip


def _edge(sheet: Sheet, answer: Answer, row: int, name: str, rate: Rate, day: int) -> None:
    """Write how one edge of the band comes about: as the due day, at the edge's own rate."""
    shared, clock = answer.shared, answer.by_rule.time.clock
    vehicle = clock.vehicle[[row]]
    last = int(shared.distance.first[vehicle[0]] + shared.distance.count[vehicle[0]] - 1)
    since = shared.distance.day[[last]]
    if day < since[0] or not rate.days[0]:
        # The limit was reached between readings, where no rate plays a part.
        return
    quantile = "90th" if name == "early" else "10th"
    says = f"of the {quantile} percentile of the stretches between readings"
    sheet.fact(f"{name}_distance", f"distance {says}", km(rate.distance[0]), "km")
    sheet.fact(f"{name}_days", f"days in use {says}", int(rate.days[0]), "days")
    at_start = km(shared.travelled(vehicle, clock.start[[row]], rate)[0])
    sheet.fact(f"{name}_at_start", "true distance at the start, at that rate", at_start, "km")
    sheet.fact(f"{name}_on", f"{name} edge of the band", from_day(day))
    travelled = km(shared.travelled(vehicle, np.array([day]), rate)[0])
    # Before the part came to this car, its distance is another car's.
    if day >= shared.lives.since[vehicle[0]]:
        car = shared.lives.car[vehicle]
        ahead = int(days_in_use(shared.stands, car, since, np.array([day]))[0])
        sheet.fact(f"{name}_ahead", "days in use from the latest reading to it", ahead, "days")
        if "latest" not in sheet.values:
            latest = km(shared.distance.travelled[last])
            sheet.fact("latest", "true distance at the latest reading", latest, "km")
        sheet.result(
            f"{name}_travelled", "true distance on that day",
            f"latest + share({name}_ahead, {name}_distance, {name}_days)", travelled, "km",
        )  # fmt: skip
    else:
        sheet.fact(f"{name}_travelled", "true distance on that day", travelled, "km")
    _standing(sheet, answer, row, day, f"{name}_standing")
    counted = travelled - at_start + sheet.number(f"{name}_standing")
    sheet.result(
        f"{name}_reached", "counted by then less the limit: not below nought",
        f"{name}_travelled − {name}_at_start + {name}_standing − limit",
        counted - sheet.number("limit"), "km",
    )  # fmt: skip
