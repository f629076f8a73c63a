"""The statutory roadworthiness inspection, and what a failed one leaves to be done."""

from datetime import date, timedelta

from tests.reference.criteria import without_band
from tests.reference.dates import add_months, day, month_end, whole_months
from tests.reference.history import place


def inspection_due(vehicle, regime, standing, on):
    """The day of the next inspection as a criterion; None for a car that needs none.

    Without a regime only the expiry stated on the latest certificate is known.
    """
    if regime is None:
        passes = _tests(vehicle, on, "pass")
        stated = day(passes[-1].get("expires_on")) if passes else None
        return None if stated is None else without_band("inspection", stated)
    registered = day(vehicle["first_registered_on"])
    due = _expiry(vehicle, regime, registered, on)
    if _exempt(vehicle, regime, registered, due, on):
        return None
    if regime["suspended_off_road"]:
        if period := standing.period(due):
            due = period.known_end
        due = _in_season(vehicle, regime, due)
    return without_band("inspection", due)


def _in_season(vehicle, regime, due):
    """The day itself, or the first month in which the seasonal plate holds again."""
    first, last = vehicle.get("season_from_month"), vehicle.get("season_to_month")
    if due is None or first is None:
        return due
    season = [first]
    while season[-1] != last:
        season.append(season[-1] % 12 + 1)
    month = date.fromordinal(due)
    if month.month in season:
        return due
    while month.month not in season:
        month += timedelta(days=1)
    opening = month.toordinal()
    return month_end(opening) if regime["certificate_end"] == "month_end" else opening


def _expiry(vehicle, regime, registered, on):
    expiry = None
    for test in _tests(vehicle, on, "pass"):
        stated = day(test.get("expires_on"))
        expiry = stated or _next(regime, registered, day(test["on"]), expiry)
    return _first_due(regime, registered) if expiry is None else expiry


def _first_due(regime, registered):
    first = add_months(registered, regime["first_after_months"])
    return month_end(first) if regime["certificate_end"] == "month_end" else first


def _months_at(regime, age):
    held = [band for band in regime["bands"] if band["from_age_months"] <= age]
    return (held[-1] if held else regime["bands"][0])["every_months"]


def _next_by_registration(regime, registered, tested):
    """The first day counted from registration whose window for tests opens after the test."""
    age = regime["first_after_months"]
    while add_months(add_months(registered, age), -regime["keeps_date_months_early"]) < tested:
        age += _months_at(regime, age)
    return add_months(registered, age)


def _tests(vehicle, on, result):
    known = [test for test in vehicle["inspections"] if day(test["on"]) <= on]
    return sorted((test for test in known if _result(test) == result), key=lambda test: test["on"])


def _result(test):
    """What came of a test; whatever is on record, no car passes with a grave fault (Article 9)."""
    grave = any(found["category"] in ("major", "dangerous") for found in test["findings"])
    return "fail" if grave else test["result"]


def _next(regime, registered, tested, expiry):
    months = _months_at(regime, whole_months(registered, tested))
    if regime["date_kept"] == "registration":
        due = _next_by_registration(regime, registered, tested)
        return month_end(due) if regime["certificate_end"] == "month_end" else due
    if regime["date_kept"] == "first_due" and expiry is None:
        # Not a day later than a certificate of that day would run.
        expiry = _first_due(regime, registered) - (regime["certificate_end"] == "day_before")
    early = regime["keeps_date_months_early"]
    if early and expiry is not None and add_months(expiry, -early) < tested <= expiry:
        due = add_months(expiry, months)
    else:
        due = add_months(tested, months)
        if regime["certificate_end"] == "day_before":
            due -= 1
    return month_end(due) if regime["certificate_end"] == "month_end" else due


def _exempt(vehicle, regime, registered, due, on):
    after = regime.get("exempt_after_months")
    if after is None or vehicle.get("built_on") is None:
        return False
    if vehicle.get("substantially_changed") is not False:
        return False
    return add_months(registered, after) <= max(on, due)


def open_findings(vehicle, history, on):
    """Component and day of each fault that still stands."""
    passed = [day(test["on"]) for test in _tests(vehicle, on, "pass")]
    found = []
    for test in _tests(vehicle, on, "fail"):
        failed = day(test["on"])
        for finding in test["findings"]:
            component = place(finding)
            settled = any(later >= failed for later in passed) or history.cleared(component, failed)
            if finding["category"] in ("major", "dangerous") and not settled:
                found.append((component, failed))
    return found
