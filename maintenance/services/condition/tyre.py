"""Tyres: their age from the date code, and flat spots from standing."""

from collections.abc import Iterator

from maintenance.engine.ageing.tyres import age_limits, flat_spot_day, too_old_to_fit
from maintenance.engine.days import NO_DAY
from maintenance.services.condition.estimates import Condition, Fact
from maintenance.services.condition.facts import Facts

_AGE_SOURCE = "British Rubber Manufacturers' Association, advice of June 2001; the local law first"


def tyre_condition(facts: Facts) -> Iterator[Condition]:
    """Say when the tyre reaches its age limit, and when standing makes flat spots."""
    yield _age(facts)
    if facts.standing is not None:
        yield _flat_spots(facts)


def _age(facts: Facts) -> Condition:
    if facts.made is None:
        reason = "no date code is on record; read the four digits on the sidewall and enter them"
        return Condition("replace_on", "date", reason=reason, source=_AGE_SOURCE)
    limits = age_limits(facts.made)
    until = facts.date(int(limits.replace_on)).isoformat()
    years = round((facts.on - facts.made) / 365.25, 1)
    known = [
        Fact("first day of the week it was made in", facts.date(facts.made).isoformat()),
        Fact("age", years, "years"),
    ]
    fitted = facts.renewed
    warnings = []
    if fitted is not None and bool(too_old_to_fit(facts.made, fitted)):
        warnings.append(
            f"it was fitted on {facts.date(fitted)}, more than six years after it was made; if it "
            "was not used before, the trade advises against it"
        )
    return Condition("replace_on", "date", until, until, until, "", known, warnings, _AGE_SOURCE)


def _flat_spots(facts: Facts) -> Condition:
    standing = facts.standing
    assert standing is not None
    fitted = int(NO_DAY) if facts.renewed is None else facts.renewed
    since = max(facts.cared_for, fitted)
    if "moved-monthly" in standing.preparations:
        reason = "the car is moved each month; flat spots are counted from the last move"
        return Condition("flat_spots_from", "date", reason=reason)
    loaded = "off-the-ground" not in standing.preparations
    spots = flat_spot_day(since, carries_load=loaded)
    reason = str(spots.reason)
    if reason:
        return Condition("flat_spots_from", "date", reason=reason)
    low, central, high = (
        facts.date(int(part)).isoformat() for part in (spots.low, spots.central, spots.high)
    )
    known = [Fact("on one spot since", facts.date(since).isoformat())]
    if "tyres-over-inflated" in standing.preparations:
        known.append(Fact("pumped up", "flat spots come later, by no figure that is known"))
    source = "flat spots after 30 to 45 days: trade advice"
    return Condition("flat_spots_from", "date", low, central, high, "", known, [], source)
