"""Parts that standing spoils unseen: linings, what seizes, oil, coolant and petrol."""

import math
from collections.abc import Iterator
from dataclasses import replace

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing import MECHANISMS, coolant, friction, fuel, oil, seizure, tyres
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.first_use import FirstUseInspection, called_for
from maintenance.engine.ageing.preparations import PREPARATIONS, with_preparations
from maintenance.services.condition.estimates import Condition, Fact, without_band
from maintenance.services.condition.facts import Facts

_LININGS = ("brake-pads", "brake-shoes")


def before_use(kind: str) -> tuple[str, ...]:
    """Return what to look for and do on a part of a kind before it is used after standing."""
    found: list[str] = []
    for inspection in _inspections(kind):
        found += inspection.look_for
    if kind == "engine-oil":
        found += oil.BEFORE_USE
    if kind == "coolant":
        found += coolant.BEFORE_USE
    if kind == "tyre":
        found += tyres.LOOK_FOR
    return tuple(found)


def _inspections(kind: str) -> list[FirstUseInspection]:
    mechanisms = catalogue().kinds[kind].mechanisms
    found = []
    if friction.MECHANISM in mechanisms and kind in _LININGS:
        # No record tells whether a lining is bonded or riveted: the careful one.
        found.append(friction.inspection())
    if seizure.MECHANISM in mechanisms and kind in seizure.INSPECTIONS:
        found.append(seizure.inspection(kind))
    return found


def lining_condition(facts: Facts) -> Iterator[Condition]:
    """Say whether a lining has stood so long that its bond is looked at before use."""
    yield from _inspected(facts, friction.MECHANISM)


def seizing_condition(facts: Facts) -> Iterator[Condition]:
    """Say whether a part that can seize has stood so long that it is freed before use."""
    yield from _inspected(facts, seizure.MECHANISM)


def _inspected(facts: Facts, mechanism: str) -> Iterator[Condition]:
    stood = _stood(facts)
    if stood is None:
        return
    for inspection in _inspections(facts.component.kind):
        counted = sum(
            days * _factor(facts, mechanism, climate, done) for days, climate, done in stood
        )
        plain = sum(days for days, _, _ in stood)
        months = plain / fuel.DAYS_IN_MONTH
        called = bool(called_for(inspection, months, counted / plain if plain else 1.0))
        known = [
            Fact("days stood", plain, "days"),
            Fact("counted by the store", round(counted, 2), "days"),
            Fact("looked at from", inspection.after_months, "months", inspection.source),
        ]
        time = without_band("standing_time", "months", round(months, 1), known, inspection.source)
        look_for = list(inspection.look_for) if called else []
        yield replace(time, warnings=[inspection.caution] if called else [], look_for=look_for)


def _factor(
    facts: Facts, mechanism: str, climate: StoreClimate, preparations: tuple[str, ...]
) -> float:
    known = [slug for slug in preparations if slug in PREPARATIONS]
    factor = with_preparations(MECHANISMS[mechanism](climate), facts.component.kind, known)
    return float(factor.value)


def _stood(facts: Facts) -> list[tuple[int, StoreClimate, tuple[str, ...]]] | None:
    """Return the stays since the part last was new in this standing period, None in use."""
    began = facts.standing_since
    if began is None:
        return None
    since = began if facts.renewed is None else max(began, facts.renewed)
    return [
        (spell.days, spell.climate, spell.preparations)
        for spell in facts.spells(since)
        if spell.climate is not None
    ]


def oil_condition(facts: Facts) -> Iterator[Condition]:
    """Say whether oil has stood so long that it is renewed before use."""
    stood = _stood(facts)
    if stood is None:
        return
    days = sum(length for length, _, _ in stood)
    months = days / fuel.DAYS_IN_MONTH
    renew = bool(oil.renew_before_use(months))
    known = [
        Fact("days stood", days, "days"),
        Fact("renewed before use from", oil.RENEW_BEFORE_USE_MONTHS, "months", "common practice"),
    ]
    warnings = ["this oil has stood a year or longer: renew it before use"] if renew else []
    time = without_band("standing_time", "months", round(months, 1), known, "common practice")
    look_for = list(before_use(facts.component.kind)) if renew else []
    yield replace(time, warnings=warnings, look_for=look_for)


def coolant_condition(facts: Facts) -> Iterator[Condition]:
    """Tell the freezing point that was measured, and whether the store is colder."""
    fresh = facts.prepared("fresh-coolant")
    measured = [
        each for each in facts.measured("freezing_point") if fresh is None or each.day >= fresh
    ]
    look_for = [] if facts.standing is None else list(coolant.BEFORE_USE)
    if not measured:
        reason = "its freezing point was not measured since it was renewed"
        if fresh is not None:
            reason += f" before the lay-up of {facts.date(fresh)}"
        yield Condition("freezing_point", "°C", reason=reason, look_for=look_for)
        return
    last, standing, warnings = measured[-1], facts.standing, []
    if standing is not None and standing.climate is not None:
        if bool(coolant.may_freeze(last.value, standing.climate)):
            warnings.append(
                f"it may freeze in this store, where it grows colder than {last.value:g} °C: "
                "strengthen it as the maker says"
            )
    known = [Fact("measured on", facts.date(last.day).isoformat())]
    source = "the measurement; coldest month of the store less 10 K: common practice"
    freezes = without_band("freezing_point", "°C", last.value, known, source)
    yield replace(freezes, warnings=warnings, look_for=look_for)


def petrol_condition(facts: Facts) -> Iterator[Condition]:
    """Estimate the day until which the petrol in the tank keeps."""
    standing, stood = facts.standing, _stood(facts)
    if standing is None or standing.climate is None or stood is None:
        reason = "the car is in use, and its tank is filled again and again"
        if facts.renewal_due:
            reason = "its renewal is due: nothing on record tells how old the petrol in the tank is"
        yield Condition("petrol_keeps_until", "date", reason=reason)
        return
    if "drained-tank" in standing.preparations:
        reason = "the tank is empty: no keeping time runs until it is filled"
        yield Condition("petrol_keeps_until", "date", reason=reason)
        return
    filled = facts.on - sum(days for days, _, _ in stood)
    spells = [(float(days), climate) for days, climate, _ in stood]
    keeps = fuel.keeps_through([*spells, (0.0, standing.climate)])
    low, central, high = (
        facts.date(filled + int(days)).isoformat()
        for days in (keeps.low, keeps.central, keeps.high)
    )
    known = [Fact("standing, or filled, since", facts.date(filled).isoformat())]
    advice = fuel.long_storage_advice(_months_to_stand(facts))
    warnings = [advice] if advice else []
    if facts.on - filled >= float(keeps.central):
        warnings.append("this petrol is stale by the middle figure: drain it before use")
    yield Condition(
        "petrol_keeps_until", "date", low, central, high, "", known, warnings,
        "petrol 3 to 6 months: trade advice; rate: a motoring club's keeping times",
    )  # fmt: skip


def _months_to_stand(facts: Facts) -> float:
    days = facts.days_to_stand
    return math.nan if days is None else days / fuel.DAYS_IN_MONTH
