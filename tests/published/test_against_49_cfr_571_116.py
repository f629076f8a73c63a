"""Brake fluid against 49 CFR 571.116 S5.1.1, S5.1.2 and S6.2 (cited in secondary pages)."""

import pytest

from maintenance.engine.ageing.boiling_points import boiling_point
from maintenance.engine.ageing.hydraulic_fluids import FLUIDS
from maintenance.engine.ageing.moisture import water_content

# Dry and wet minima in both units: each pair is an exact match.
MINIMA = [
    ("dot-3", 205, 401, 140, 284),
    ("dot-4", 230, 446, 155, 311),  # wet: interpretation 12089, primary text read
    ("dot-5", 260, 500, 180, 356),
    ("dot-5.1", 260, 500, 180, 356),
]


def fahrenheit(celsius):
    return celsius * 9 / 5 + 32


@pytest.mark.parametrize(("fluid", "dry_c", "dry_f", "wet_c", "wet_f"), MINIMA)
def test_a_grade_has_the_published_minima(fluid, dry_c, dry_f, wet_c, wet_f):
    minima = FLUIDS[fluid].dry_c, FLUIDS[fluid].wet_c

    assert minima == (dry_c, wet_c) and tuple(map(fahrenheit, minima)) == (dry_f, wet_f)


@pytest.mark.parametrize(
    ("fluid", "dry_c", "wet_c"), [(row[0], row[1], row[3]) for row in MINIMA if row[0] != "dot-5"]
)
def test_glycol_fluid_boils_at_its_minima(fluid, dry_c, wet_c):
    ends = boiling_point([0.0, 3.7], FLUIDS[fluid]).central  # dry, and as the wet test ends

    assert list(ends) == pytest.approx([dry_c, wet_c])


def test_only_the_silicone_grade_is_no_glycol():
    assert [slug for slug, fluid in FLUIDS.items() if fluid.base == "silicone"] == ["dot-5"]


# A trade article: DOT 3 boils at 369, 320 and 293 °F with 1, 2 and 3 % of water. It describes a
# typical fluid and the curve one that just meets its grade, hence seven kelvins.
@pytest.mark.parametrize(("water", "boils_f"), [(1, 369), (2, 320), (3, 293)])
def test_dot_3_boils_near_the_trade_figures(water, boils_f):
    boils = boiling_point(water, FLUIDS["dot-3"]).central

    assert boils == pytest.approx((boils_f - 32) / 1.8, abs=7)


# The same article: about 2 % of water in a year, 3 % at 18 months, 7 to 8 % after several years.
@pytest.mark.parametrize(("months", "water", "within"), [(12, 2.0, 0.01), (18, 3.0, 0.25)])
def test_fluid_takes_up_the_trades_water(months, water, within):
    assert water_content(months * 30.436875).central == pytest.approx(water, abs=within)


def test_fluid_of_many_years_holds_the_trades_seven_to_eight_per_cent():
    assert 7 <= water_content(12 * 365.25).central <= 8
