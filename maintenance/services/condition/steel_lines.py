"""The arithmetic of steel's loss: the category's first year, carried on by the power law."""

from maintenance.engine.ageing.corrosion import first_year_band
from maintenance.engine.ageing.steel_loss import (
    LINEAR_AFTER_YEARS,
    TIME_EXPONENT,
    UPPER_TIME_EXPONENT,
    steel_loss,
)
from maintenance.engine.working.by_wear import scientific
from maintenance.engine.working.lines import Line, Sheet


def loss_lines(years: float, category: str) -> list[Line]:
    """Return how the loss and its band follow from the category and the years."""
    found, sheet = steel_loss(years, category), Sheet()
    if str(found.reason):
        return []
    sheet.fact("years", "years since", scientific(years), "years")
    for name, first_year in zip(("low", "middle", "high"), first_year_band(category), strict=True):
        sheet.fact(
            f"first_{name}", f"first year's loss in {category}", scientific(first_year), "µm",
            "ISO 9223:2012, table 2",
        )  # fmt: skip
    usual = f"power(years, {TIME_EXPONENT:g})"
    b, after = UPPER_TIME_EXPONENT, LINEAR_AFTER_YEARS
    careful = (
        f"(power(earliest(years, {after:g}), {b:g}) + latest(years − {after:g}, 0) × {b:g} × "
        f"power({after:g}, {b - 1:g}))"
    )
    source = "ISO 9224:2012, power law and table 3"
    for name, formula, value in (
        ("low", f"first_low × {usual}", found.low),
        ("central", f"first_middle × {usual}", found.central),
        ("high", f"first_high × latest({usual}, {careful})", found.high),
    ):
        sheet.result(
            f"{name}_loss", f"loss, {name}", formula, scientific(float(value)), "µm", source
        )
    return sheet.lines
