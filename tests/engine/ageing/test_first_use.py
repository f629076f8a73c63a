"""What is looked at before a car that has stood is used again."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing import friction, seizure
from maintenance.engine.ageing.first_use import called_for

INSPECTIONS = [*friction.INSPECTIONS.values(), *seizure.INSPECTIONS.values()]


@pytest.mark.parametrize("inspection", INSPECTIONS, ids=lambda inspection: inspection.part)
def test_an_inspection_says_what_to_look_for_and_what_can_hurt(inspection):
    assert len(inspection.look_for) >= 2 and inspection.caution and inspection.source


@given(st.sampled_from(INSPECTIONS), st.floats(0, 200), st.floats(0, 3))
def test_a_worse_store_never_puts_an_inspection_off(inspection, months, factor):
    in_dry, in_worse = called_for(inspection, months, [1.0, factor])

    assert in_worse >= in_dry


@pytest.mark.parametrize(("months", "called"), [(5.9, False), (6, True), (np.nan, True)])
def test_bonded_linings_are_looked_at_after_half_a_year(months, called):
    assert bool(called_for(friction.inspection("bonded"), months)) is called


def test_a_damp_store_brings_the_inspection_forward():
    assert called_for(friction.inspection("bonded"), 4, 1.5)


def test_old_linings_carry_the_asbestos_caution():
    assert all("asbestos" in inspection.caution for inspection in friction.INSPECTIONS.values())


def test_a_lining_is_bonded_or_riveted():
    with pytest.raises(ValueError, match="use one of bonded, riveted"):
        friction.inspection("glued")


def test_a_caliper_is_looked_at_for_pistons_that_stick():
    assert "piston" in seizure.inspection("brake-caliper").look_for[0]


def test_a_part_that_cannot_seize_has_no_such_inspection():
    with pytest.raises(ValueError, match="no seizure inspection for kind 'bumper'"):
        seizure.inspection("bumper")
