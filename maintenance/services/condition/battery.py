"""Battery: its charge from the voltage at rest or the acid, and the day to recharge it by."""

from collections.abc import Iterator

from maintenance.engine.ageing.battery import (
    SULPHATION_WARNING,
    TABLE_TEMPERATURE_C,
    charge_to_gravity,
    gravity_to_charge,
    rest_voltage_to_charge,
    sulphated,
)
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.estimate import Estimate
from maintenance.engine.ageing.self_discharge import gravity_through, recharge_through
from maintenance.services.condition.battery_lines import discharge_lines
from maintenance.services.condition.estimates import Condition, Fact, of_estimate
from maintenance.services.condition.facts import Facts, Measured

_VOLTAGE_SOURCE = "trade table of rest voltage at 80 °F with its temperature compensation"
_DISCHARGE_SOURCE = "TM 9-6140-200-14, 4-8c; recharge at 1.225, TM 5-3820-256-24-4"


def battery_condition(facts: Facts) -> Iterator[Condition]:
    """Estimate the charge when it was measured, and how it has gone and will go since."""
    measured = facts.measured("rest_voltage", "electrolyte_density")
    if not measured:
        reason = "no voltage at rest and no electrolyte density is on record since the renewal"
        yield Condition("charge", "%", reason=reason)
        return
    last = measured[-1]
    then = _charge(facts, last)
    yield then
    if isinstance(then.central, float):
        yield from _since(facts, last, then.central)


def _charge(facts: Facts, last: Measured) -> Condition:
    words = last.quantity.replace("_", " ")
    if last.quantity == "electrolyte_density":
        fact = Fact(f"{words} measured on {facts.date(last.day)}", last.value, "kg/l")
        charge = float(gravity_to_charge(last.value))
        reason = "" if charge == charge else "the density is outside 1.00 to 1.35 kg/l"
        value = None if reason else round(charge, 1)
        return Condition(
            "charge_when_measured", "%", value, value, value, reason, [fact], [], _VOLTAGE_SOURCE
        )
    fact = Fact(f"{words} on {facts.date(last.day)}", last.value, "V")
    if facts.vehicle.nominal_voltage is None:
        reason = "the car's record does not say whether it has 6 or 12 V"
        return Condition("charge_when_measured", "%", reason=reason, facts=[fact])
    stay = facts.stay_on(last.day)
    warmth = _mean_temperature(stay.climate) if stay and stay.climate else None
    known = Fact(
        "temperature of the store" if warmth is not None else "temperature not recorded, taken as",
        round(TABLE_TEMPERATURE_C if warmth is None else warmth, 1), "°C",
    )  # fmt: skip
    charge_then = rest_voltage_to_charge(
        last.value, TABLE_TEMPERATURE_C if warmth is None else warmth, facts.vehicle.nominal_voltage
    )
    return of_estimate("charge_when_measured", charge_then, 1, [fact, known], _VOLTAGE_SOURCE)


def _mean_temperature(climate: StoreClimate) -> float:
    return climate.mean(climate.temperature_c)


def _since(facts: Facts, last: Measured, charge: float) -> Iterator[Condition]:
    since = facts.standing_since
    if since is None or since > last.day:
        reason = "the car has been in use since, which charges the battery or drains it"
        yield Condition("charge", "%", reason=reason)
        return
    spells = [each for each in facts.spells(last.day) if each.climate is not None]
    kept = [slug for each in spells for slug in each.preparations if slug in _KEPT]
    if kept:
        yield Condition("charge", "%", reason=_KEPT[kept[-1]])
        return
    gravity = charge_to_gravity(charge)
    stood = [(float(each.days), each.climate) for each in spells if each.climate is not None]
    standing = facts.standing
    if standing is None or standing.climate is None or gravity != gravity:
        return
    recharge = recharge_through([*stood, (0.0, standing.climate)], float(gravity))
    yield from _today(facts, last, float(gravity), recharge, stood)


def _today(
    facts: Facts,
    last: Measured,
    gravity: float,
    recharge: Estimate,
    stood: list[tuple[float, StoreClimate]],
) -> Iterator[Condition]:
    """Tell the charge that is left, the sulphate to be feared, and the day to recharge by."""
    days, left = facts.on - last.day, gravity_through(stood, gravity)
    low, central, high = (
        round(float(gravity_to_charge(part)), 1) for part in (left.low, left.central, left.high)
    )
    # What matters is how long it has been below the threshold, not how full it once was.
    below = days - float(recharge.central)
    warnings = [SULPHATION_WARNING] if bool(sulphated(central, below)) else []
    known = [Fact("days on the shelf since", days, "days")]
    lines = discharge_lines(gravity, left, stood)
    yield Condition(
        "charge", "%", low, central, high, "", known, warnings, _DISCHARGE_SOURCE, lines
    )
    soonest, usual, latest = (
        facts.date(last.day + int(part)).isoformat()
        for part in (recharge.low, recharge.central, recharge.high)
    )
    yield Condition("recharge_by", "date", soonest, usual, latest, "", [], [], _DISCHARGE_SOURCE)


_KEPT = {
    "battery-maintainer": "it is on a maintainer, which keeps it charged as long as it works: "
    "look at it monthly",
    "battery-removed": "it stands apart from the car, and the climate there is not on record",
}
