"""ISO 4925 (2005) and 49 CFR 571.116: classes by boiling point and viscosity at −40 °C (memory)."""

import pytest

from maintenance.engine.ageing.hydraulic_fluids import CLASSES, FLUIDS


@pytest.mark.parametrize(
    ("name", "dry_c", "wet_c", "viscosity"),
    [
        ("class 3", 205, 140, 1500),
        ("class 4", 230, 155, 1500),
        ("class 5-1", 260, 180, 900),
        ("class 6", 250, 165, 750),
    ],
)
def test_a_class_has_the_standards_limits(name, dry_c, wet_c, viscosity):
    found = CLASSES[name]
    assert (found.dry_c, found.wet_c, found.viscosity_mm2_s) == (dry_c, wet_c, viscosity)


@pytest.mark.parametrize(
    ("grade", "viscosity"), [("dot-3", 1500), ("dot-4", 1800), ("dot-5", 900), ("dot-5.1", 900)]
)
def test_a_grade_may_be_so_thick_in_the_cold(grade, viscosity):
    assert FLUIDS[grade].viscosity_mm2_s == viscosity


@pytest.mark.parametrize(
    ("grade", "name"), [("dot-3", "class 3"), ("dot-4", "class 4"), ("dot-5.1", "class 5-1")]
)
def test_a_grade_boils_as_its_class(grade, name):
    assert (FLUIDS[grade].dry_c, FLUIDS[grade].wet_c) == (CLASSES[name].dry_c, CLASSES[name].wet_c)
