"""Brake and clutch fluid: the water in it, the boiling point that implies, and what was mixed."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from maintenance.engine.ageing.boiling_points import boiling_point, water_from_boiling_point
from maintenance.engine.ageing.estimate import Estimate
from maintenance.engine.ageing.hydraulic_fluids import (
    CLASSES,
    FLUIDS,
    GLYCOL,
    HydraulicFluid,
    exemption,
    mixing_warning,
)
from maintenance.engine.ageing.moisture import (
    HIGHEST_WATER,
    REFERENCE_HUMIDITY,
    pace,
    water_history,
)
from maintenance.services.condition.estimates import Condition, Fact, of_estimate
from maintenance.services.condition.facts import Facts, Spell
from maintenance.services.condition.fluid_lines import boiling_lines, water_lines

_GRADE = re.compile(r"\bDOT[\s-]?(5\.1|[345])(?![\d.]*\d)", re.IGNORECASE)
_CLASS = re.compile(r"\bclass\s*(5-1|[346])(?![\d-])", re.IGNORECASE)
_STEP_DAYS = 30
_WATER_SOURCE = "trade articles on uptake (2 % in a year, 3 % at 18 months), by the store's air"
_BOILING_SOURCE = "49 CFR 571.116 S5.1.1, S5.1.2 and S6.2, of fluid that just meets its grade"


@dataclass(frozen=True, eq=False)
class BoilingCurve:
    """The boiling point of a fluid at the end of each of some days [days since 1970-01-01]."""

    fluid: HydraulicFluid
    days: list[int]
    estimate: Estimate


def grade_in(text: str) -> HydraulicFluid | None:
    """Return the grade that a text names, None where it names none or more than one.

    A DOT grade goes before a class of ISO 4925: fluid may bear both.
    """
    found = {f"dot-{match}".lower() for match in _GRADE.findall(text)}
    if len(found) == 1:
        return FLUIDS[found.pop()]
    classes = {f"class {match}" for match in _CLASS.findall(text)}
    return CLASSES[classes.pop()] if len(classes) == 1 and not found else None


class Start(NamedTuple):
    """Where the curve of the water begins: the day, the water then [%], whence; or why nowhere."""

    day: int
    water: float
    whence: Fact
    why: str = ""


class Air(NamedTuple):
    """Spells since the start: length [days], humidity [%RH] and pace against 20 °C [1]."""

    days: list[int]
    humidity: list[float]
    pace: list[float]


def fluid_condition(facts: Facts) -> Iterator[Condition]:
    """Estimate the water and the boiling point; a measured figure corrects the curve."""
    fluid, whence, warnings = _fluid(facts)
    if fluid is not None and fluid.base != GLYCOL:
        yield Condition("water_content", "%", reason=exemption(fluid), warnings=warnings)
        return
    start = _start(facts, fluid)
    if start is None:
        yield Condition(
            "water_content", "%", reason="no renewal of the fluid is on record", warnings=warnings
        )
        return
    if start.why:
        yield Condition("water_content", "%", reason=start.why, warnings=warnings)
        return
    air = _air(facts.spells(start.day))
    water = water_history(
        air.days or [0], air.humidity or [REFERENCE_HUMIDITY], start.water, air.pace or [1.0]
    )
    sheet = water_lines(start.water, air.days, air.humidity, air.pace, water)
    shown = [start.whence, *_spell_facts(air)]
    content = of_estimate("water_content", water, 2, shown, _WATER_SOURCE)
    yield replace(content, lines=sheet.lines)
    if fluid is None:
        yield Condition("boiling_point", "°C", reason=_NO_GRADE.format(_item(facts)))
        return
    estimate = boiling_point(water, fluid)
    boils = of_estimate("boiling_point", estimate, 0, [whence], _BOILING_SOURCE)
    warnings += _too_wet(water, estimate, fluid)
    lines = boiling_lines(fluid, water, estimate)
    yield replace(boils, warnings=warnings, lines=lines)


def _too_wet(water: Estimate, boils: Estimate, fluid: HydraulicFluid) -> Iterator[str]:
    """Warn of fluid that boils below its grade's wet minimum, or is wetter than the curve goes."""
    if float(water.high[-1]) > HIGHEST_WATER:
        yield (
            f"the water may be above {HIGHEST_WATER:g} %, where the curve ends: the fluid may boil "
            f"below {float(boils.low[-1]):.0f} °C; renew it"
        )
    if fluid.wet_c is not None and float(boils.central[-1]) < fluid.wet_c:
        yield (
            f"this is below {fluid.wet_c:.0f} °C, at which {fluid.name} boils at least after the "
            "wet test: renew it"
        )


def boiling_curve(facts: Facts, until: int) -> BoilingCurve | None:
    """Return the boiling point from the renewal, or the last measurement, up to a day.

    After the day asked about the fluid is taken to stay in the air that it is in on it. None
    where there is no renewal on record, no grade, or a fluid that follows no curve.
    """
    fluid, _, _ = _fluid(facts)
    start = _start(facts, fluid)
    if fluid is None or fluid.base != GLYCOL or start is None or start.why:
        return None
    spells = facts.spells(start.day)
    now = spells[-1].climate if spells else None
    spells = [*spells, Spell(max(facts.on, start.day), max(until, facts.on), now)]
    steps = [step for spell in spells for step in _steps(spell)]
    air = _air(steps)
    water = water_history(
        [0, *air.days], [REFERENCE_HUMIDITY, *air.humidity], start.water, [1.0, *air.pace]
    )
    ends = [start.day, *(step.end for step in steps)]
    return BoilingCurve(fluid, ends, boiling_point(water, fluid))


def _steps(spell: Spell) -> list[Spell]:
    """Cut a spell into months, so that the curve is drawn as one."""
    cuts = [*range(spell.start, spell.end, _STEP_DAYS), spell.end]
    return [Spell(first, last, spell.climate) for first, last in pairwise(cuts)]


def _air(spells: list[Spell]) -> Air:
    """Return the air of each spell; on the road it is ordinary air."""
    return Air(
        [spell.days for spell in spells],
        [
            REFERENCE_HUMIDITY if (air := spell.climate) is None else air.mean(air.humidity)
            for spell in spells
        ],
        [
            1.0 if (air := spell.climate) is None else air.mean(pace(air.temperature_c))
            for spell in spells
        ],
    )


_NO_GRADE = (
    "the car's specification sheet does not name the fluid; add the line {!r}, such as DOT 4"
)


def _item(facts: Facts) -> str:
    return "clutch fluid grade" if facts.component.kind == "clutch-fluid" else "brake fluid grade"


def _fluid(facts: Facts) -> tuple[HydraulicFluid | None, Fact, list[str]]:
    """Return the fluid in the circuit, where that is said, and warnings of what was mixed.

    What the last renewal's own part number or note names goes before the specification sheet.
    """
    asked = grade_in(facts.specified(_item(facts)) or "")
    if facts.component.kind == "silicone-brake-fluid":
        asked = FLUIDS["dot-5"]
    fluid, warnings = asked, []
    for entry in facts.entries("renew", "top_up"):
        named = grade_in(f"{entry.part_number} {entry.note}")
        if named is None:
            continue
        into = asked if entry.action == "renew" else fluid
        warning = mixing_warning(into, named) if into else ""
        if warning:
            warnings.append(f"{entry.event.on}: {warning}")
        if entry.action == "renew" or fluid is None:
            fluid = named
    name = fluid.name if fluid else ""
    return fluid, Fact("grade of the fluid", name, "", "specification sheet or renewal"), warnings


def _start(facts: Facts, fluid: HydraulicFluid | None) -> Start | None:
    """Return where the curve starts: the latest renewal, measurement or fresh fluid in store."""
    fresh = facts.prepared("fresh-brake-fluid")
    renewed = max((day for day in (facts.renewed, fresh) if day is not None), default=None)
    measured = facts.measured("water_content", "boiling_point")
    if renewed is None:
        return None
    if not measured or measured[-1].day < renewed:
        says = "renewed before the lay-up of" if renewed == fresh else "renewed on"
        return Start(renewed, 0.0, Fact(says, facts.date(renewed).isoformat()))
    last = measured[-1]
    words = last.quantity.replace("_", " ")
    unit = "%" if last.quantity == "water_content" else "°C"
    fact = Fact(f"{words} measured on {facts.date(last.day)}", last.value, unit)
    if last.quantity == "water_content":
        why = _SOAKED.format(last.value, HIGHEST_WATER) if last.value > HIGHEST_WATER else ""
        return Start(last.day, last.value, fact, why)
    if fluid is None:
        return Start(last.day, 0.0, fact, _NO_GRADE.format(_item(facts)))
    water = water_from_boiling_point(last.value, fluid)
    why = str(np.atleast_1d(water.reason)[0])
    return Start(last.day, float(np.nan_to_num(water.central)), fact, why)


_SOAKED = "{:g} % was measured, more than the {:g} % up to which the curve holds: renew the fluid"


def _spell_facts(air: Air) -> list[Fact]:
    """Return how long the fluid has been in air of which humidity since."""
    by_air: dict[float, int] = {}
    for length, humidity in zip(air.days, air.humidity, strict=True):
        by_air[round(humidity, 1)] = by_air.get(round(humidity, 1), 0) + length
    return [
        Fact(f"days in air of {humidity:g} %RH since", length, "days")
        for humidity, length in sorted(by_air.items())
    ]
