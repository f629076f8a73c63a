"""Arrhenius against NIST/SEMATECH, an EPDM ageing study and Sandia's nitrile."""

import pytest

from maintenance.engine.ageing.rubber import (
    GAS_CONSTANT,
    POLYMERS,
    TEN_DEGREE_RULE,
    arrhenius_factor,
)

KJ_IN_EV = 96.485332  # [kJ/mol] one electronvolt a particle: CODATA 2018


# NIST/SEMATECH e-Handbook 8.1.5.1, 25 to 125 °C: 133 at 0.5 eV and 17 597 at 1 eV. The handbook
# rounds 1/k to 11605 K/eV and 0 °C to 273.16 K, hence one part in a thousand.
@pytest.mark.parametrize(("electronvolts", "published"), [(0.5, 132.65), (1.0, 17_596.95)])
def test_the_rate_from_25_to_125_degrees_is_the_handbooks(electronvolts, published):
    factor = arrhenius_factor(125, 25, electronvolts * KJ_IN_EV)

    assert factor == pytest.approx(published, rel=1e-3)


# An EPDM ageing study of 2026, primary text read: slopes in kelvin, energies with R = 8.314.
@pytest.mark.parametrize(("slope", "energy"), [(8263.6, 68.7), (9120.8, 75.8)])
def test_the_studys_slopes_give_its_energies(slope, energy):
    assert slope * GAS_CONSTANT == pytest.approx(energy, abs=0.05)


def test_epdm_has_the_studys_energies_as_its_band():
    assert (POLYMERS["EPDM"].low, POLYMERS["EPDM"].high) == (68.7, 75.8)


def test_the_ten_degree_rule_is_exact_at_51_216_kilojoules():
    assert TEN_DEGREE_RULE == 51.216
    assert arrhenius_factor(30, 20, TEN_DEGREE_RULE) == pytest.approx(2, abs=1e-5)


def test_nitrile_has_sandias_energy():  # Sandia, 1993, by elongation; primary text read
    assert POLYMERS["NBR"].central == 92.0


# From 20 to 30 °C, computed from the formula with general-purpose tools.
@pytest.mark.parametrize(
    ("energy", "factor"),
    [(50, 1.9674), (68.7, 2.5339), (75.8, 2.7895), (92, 3.4733), (TEN_DEGREE_RULE, 2.0)],
)
def test_ten_degrees_raise_the_rate_by_the_energys_factor(energy, factor):
    assert arrhenius_factor(30, 20, energy) == pytest.approx(factor, abs=1e-4)
