"""Rubber parts: how old standing has made them, and the shelf life they had before."""

from collections.abc import Iterator

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing.rubber import POLYMERS, equivalent_age
from maintenance.engine.ageing.shelf_life import (
    ARP5316_YEARS,
    SHELF_GROUPS,
    quarter_label,
    shelf_limits,
)
from maintenance.engine.working.by_wear import scientific
from maintenance.engine.working.lines import Sheet
from maintenance.services.condition.estimates import Condition, Fact
from maintenance.services.condition.facts import Facts, Spell

_AGE_SOURCE = "ISO 11346 (Arrhenius) on the stores' temperatures; days in use count one each"


def rubber_condition(facts: Facts) -> Iterator[Condition]:
    """Estimate the age in days of a cool room, and say whether its shelf life was kept."""
    polymer = (facts.specified(_item(facts)) or "").strip().upper()
    if polymer and polymer not in POLYMERS:
        reason = f"the specification sheet names {polymer!r}, which is no known rubber"
        yield Condition("equivalent_age", "days", reason=reason)
        return
    yield _age(facts, polymer)
    if facts.made is not None and facts.renewed is not None:
        yield _shelf(facts, polymer, facts.made, facts.renewed)


def _item(facts: Facts) -> str:
    return f"{catalogue().kinds[facts.component.kind].name} rubber"


def _age(facts: Facts, polymer: str) -> Condition:
    fitted = facts.renewed
    if fitted is None:
        return Condition("equivalent_age", "days", reason="no renewal is on record")
    sheet = Sheet()
    # On the shelf it was in no store of the car's; the design counts those days one each.
    shelf = 0 if facts.made is None else max(0, fitted - facts.made)
    sheet.fact("shelf", "days on the shelf before it was fitted", shelf, "days")
    totals, names = [float(shelf)] * 3, ["shelf"]
    for number, spell in enumerate(facts.spells(fitted), 1):
        factors = _factors(spell, polymer)
        where = "in use" if spell.climate is None else f"in {spell.climate.name}"
        sheet.fact(f"days_{number}", f"days {where}", spell.days, "days")
        for edge, factor in zip(_EDGES, factors, strict=True):
            source = "" if spell.climate is None else f"{_AGE_SOURCE}; {spell.climate.source}"
            says = f"what a day counts, {edge}"
            sheet.fact(f"{edge}_{number}", says, scientific(factor), "1", source)
        totals = [
            total + spell.days * factor for total, factor in zip(totals, factors, strict=True)
        ]
        names.append(f"days_{number}")
    for edge, total in zip(_EDGES, totals, strict=True):
        terms = [names[0], *(f"{name} × {edge}_{n}" for n, name in enumerate(names[1:], 1))]
        sheet.result(f"{edge}_age", "age", " + ".join(terms), scientific(total), "days")
    low, central, high = map(round, totals)
    known = [
        Fact("fitted on", facts.date(fitted).isoformat()),
        Fact("rubber", polymer or "not named; the worst of the table is taken"),
    ]
    return Condition(
        "equivalent_age", "days", low, central, high, "", known, [], _AGE_SOURCE, sheet.lines
    )


_EDGES = ("low", "central", "high")


def _factors(spell: Spell, polymer: str) -> tuple[float, ...]:
    if spell.climate is None:
        return 1.0, 1.0, 1.0
    aged = equivalent_age(1.0, spell.climate, polymer)
    return float(aged.low), float(aged.central), float(aged.high)


def _shelf(facts: Facts, polymer: str, made: int, fitted: int) -> Condition:
    source = "ISO 2230:2002, of parts not yet fitted; no service life of a fitted part"
    if not any(polymer in group.polymers for group in SHELF_GROUPS):
        reason = (
            f"the specification sheet does not name a rubber with a shelf period; add the line "
            f"{_item(facts)!r}, such as EPDM"
        )
        return Condition("shelf_life_until", "date", reason=reason, source=source)
    limits = shelf_limits(made, polymer)
    first, last = int(limits.initial_until), int(limits.extended_until)
    known = [Fact("cured in the quarter", quarter_label(made), "", "ISO 2230:2002")]
    if polymer in ARP5316_YEARS:
        years = ARP5316_YEARS[polymer]
        shelf = "no limit" if years is None else years
        known.append(Fact("a seal of it keeps", shelf, "years" if years else "", "SAE ARP5316"))
    warnings = []
    if fitted > last:
        warnings.append(
            f"it was fitted on {facts.date(fitted)}, after its extended shelf life: renew it"
        )
    elif fitted > first:
        warnings.append(
            f"it was fitted on {facts.date(fitted)}, after its initial shelf life: the standard "
            "asks for an inspection before that"
        )
    until = facts.date(first).isoformat(), facts.date(last).isoformat()
    return Condition(
        "shelf_life_until", "date", until[0], until[0], until[1], "", known, warnings, source
    )
