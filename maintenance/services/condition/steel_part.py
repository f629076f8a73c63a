"""Steel: how much the air of its stores may have taken off since it was new."""

import re
from collections.abc import Iterator
from dataclasses import replace

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing.corrosion import CATEGORIES, category_of_store
from maintenance.engine.ageing.steel_loss import inspection_months, steel_loss
from maintenance.engine.days import to_day
from maintenance.services.condition.estimates import Condition, Fact, of_estimate
from maintenance.services.condition.facts import Facts
from maintenance.services.condition.steel_lines import loss_lines

_SOURCE = "ISO 9223:2012, table 2; ISO 9224:2012, power law and table 3"
_YEAR = 365.25


def steel_condition(facts: Facts) -> Iterator[Condition]:
    """Estimate the even loss of bare steel, as if all its time were spent in its worst store."""
    start, words = _start(facts)
    if start is None:
        reason = "neither a renewal nor the day the car was built is on record"
        yield Condition("steel_loss", "µm", reason=reason)
        return
    stays = [spell for spell in facts.spells(start) if spell.climate is not None]
    if not stays:
        reason = "no lay-up is on record since; on the road salt decides, which nobody recorded"
        yield Condition("steel_loss", "µm", reason=reason)
        return
    categories = [category_of_store(spell.climate) for spell in stays if spell.climate is not None]
    worst = max(categories, key=list(CATEGORIES).index)
    years = (facts.on - start) / _YEAR
    known = [
        Fact(words, facts.date(start).isoformat()),
        Fact("years since", round(years, 2), "years"),
        Fact("corrosivity of its worst store", worst, "", "ISO 9223:2012, table C.1"),
    ]
    loss = of_estimate("steel_loss", steel_loss(years, worst), 0, known, _SOURCE)
    yield replace(loss, lines=loss_lines(years, worst))
    yield _next_look(facts, years, worst)


def _next_look(facts: Facts, years: float, worst: str) -> Condition:
    """Say how soon to look again, by the wall that the specification sheet gives."""
    item = f"{catalogue().kinds[facts.component.kind].name} wall thickness"
    stated = _FIGURE.search(facts.specified(item) or "")
    if stated is None:
        reason = (
            f"the wall's thickness is not known: measure it at its thinnest and add the line "
            f"{item!r} to the specification sheet, in mm"
        )
        return Condition("look_again_within", "months", reason=reason)
    wall = float(stated[0].replace(",", "."))
    known = [Fact(item, wall, "mm", "specification sheet"), Fact("corrosivity", worst)]
    months = inspection_months(wall, years, worst)
    return of_estimate("look_again_within", months, 0, known, _LOOK_SOURCE)


_FIGURE = re.compile(r"\d+(?:[.,]\d+)?")
_LOOK_SOURCE = (
    "ISO 9224:2012; a third of a pipe's wall gone is a major defect: GB inspection manual; pits at "
    "four times the even loss and half of what is left: common practice"
)


def _start(facts: Facts) -> tuple[int | None, str]:
    if facts.renewed is not None:
        return facts.renewed, "renewed on"
    built = facts.vehicle.built_on
    return (None if built is None else to_day(built)), "the car was built on"
