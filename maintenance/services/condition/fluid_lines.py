"""The arithmetic of a fluid's water and boiling point, line by line in the order of the spells."""

from maintenance.engine.ageing.boiling_points import (
    WATER_BOILS_C,
    WET_TEST_WATER,
    steepness_of,
)
from maintenance.engine.ageing.estimate import Estimate
from maintenance.engine.ageing.hydraulic_fluids import HydraulicFluid
from maintenance.engine.ageing.moisture import (
    FIRST_YEAR_UPTAKE,
    HIGHEST_WATER,
    REFERENCE_HUMIDITY,
    SATURATION_AT_REFERENCE,
    rates_a_day,
)
from maintenance.engine.working.by_wear import scientific
from maintenance.engine.working.lines import Line, Sheet

_UPTAKE = "three trade articles on the first year's uptake"
_EDGES = ("slow", "usual", "quick")


def water_lines(
    start: float, days: list[int], humidity: list[float], paces: list[float], water: Estimate
) -> Sheet:
    """Return how the water in the fluid came about, one spell after another."""
    sheet = Sheet()
    sheet.fact("water_0", "water at the start", scientific(start), "%")
    sheet.fact(
        "balance", f"water in balance with air of {REFERENCE_HUMIDITY:g} %RH",
        scientific(SATURATION_AT_REFERENCE), "%", "trade article: 7 to 8 % after several years",
    )  # fmt: skip
    for edge, uptake, rate in zip(_EDGES, FIRST_YEAR_UPTAKE, rates_a_day(), strict=True):
        sheet.fact(f"uptake_{edge}", "taken up in the first year", scientific(uptake), "%", _UPTAKE)
        sheet.result(
            f"rate_{edge}", "share of the way to balance in a day, at first",
            f"0 − log(1 − uptake_{edge} ÷ balance) ÷ 365.25", scientific(rate), "1/day",
        )  # fmt: skip
    for number, spell in enumerate(zip(days, humidity, paces, strict=True), 1):
        _spell_lines(sheet, number, spell, water)
    return sheet


def _spell_lines(
    sheet: Sheet, number: int, spell: tuple[int, float, float], water: Estimate
) -> None:
    length, humidity, pace = spell
    row, balance = number - 1, f"balance_{number}"
    sheet.fact(f"days_{number}", f"length of spell {number}", length, "days")
    sheet.fact(f"air_{number}", "humidity of its air", scientific(humidity), "%RH")
    sheet.fact(
        f"pace_{number}", "vapour pressure against that at 20 °C, at least 1", scientific(pace),
        "1", "Magnus formula, WMO No. 8",
    )  # fmt: skip
    sheet.result(
        balance, "water in balance with it", f"balance × air_{number} ÷ {REFERENCE_HUMIDITY:g}",
        scientific(SATURATION_AT_REFERENCE * humidity / REFERENCE_HUMIDITY), "%",
    )  # fmt: skip
    before = {"low": f"low_{row}", "water": f"water_{row}", "high": f"high_{row}"}
    if number == 1:
        before = dict.fromkeys(before, "water_0")
    ends = {
        edge: lambda since, edge=edge: (
            f"{balance} + ({since} − {balance}) × exp(0 − rate_{edge} × pace_{number} × "
            f"days_{number})"
        )
        for edge in _EDGES
    }
    for name, formula, value in (
        ("water", ends["usual"](before["water"]), water.central[row]),
        ("low", f"earliest({', '.join(ends[edge](before['low']) for edge in _EDGES)})",
         water.low[row]),
        ("high", f"latest({', '.join(ends[edge](before['high']) for edge in _EDGES)})",
         water.high[row]),
    ):  # fmt: skip
        says = {"water": "water at its end", "low": "at least", "high": "at most"}[name]
        sheet.result(f"{name}_{number}", says, formula, scientific(value), "%")


def boiling_lines(fluid: HydraulicFluid, content: Estimate, boils: Estimate) -> list[Line]:
    """Return how the boiling point follows from the water of the last spell."""
    assert fluid.dry_c is not None and fluid.wet_c is not None
    sheet = Sheet()
    source = "49 CFR 571.116 S5.1.1, S5.1.2"
    sheet.fact("dry", f"least boiling point of {fluid.name}, dry", scientific(fluid.dry_c), "°C",
               source)  # fmt: skip
    sheet.fact("wet", f"at {WET_TEST_WATER:g} % of water", scientific(fluid.wet_c), "°C", source)
    sheet.result(
        "steepness", "how fast it falls with the water",
        f"log((dry − {WATER_BOILS_C:g}) ÷ (wet − {WATER_BOILS_C:g})) ÷ {WET_TEST_WATER:g}",
        scientific(steepness_of(fluid.dry_c, fluid.wet_c)), "1/%",
    )  # fmt: skip
    for name, share, boiling in (
        ("high", content.high, boils.low),
        ("water", content.central, boils.central),
        ("low", content.low, boils.high),
    ):
        says = {"high": "water at most", "water": "water", "low": "water at least"}[name]
        sheet.fact(name, says, scientific(share[-1]), "%")
        sheet.result(
            f"boils_{name}", "boiling point of fluid with so much water",
            f"{WATER_BOILS_C:g} + (dry − {WATER_BOILS_C:g}) × exp(0 − steepness × "
            f"earliest({name}, {HIGHEST_WATER:g}))",
            scientific(boiling[-1]), "°C",
        )  # fmt: skip
    return sheet.lines
