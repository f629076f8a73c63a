"""Opened hydraulics are filled with what the car holds."""

import pytest

from tests.planning.rules import fitted, ids, made_of, wanted

HOSE = "brake-hose front left"


def fluids(*also):
    return [job for job in ids(fitted(HOSE, *also), wanted(HOSE)) if "fluid" in job]


@pytest.mark.parametrize("fluid", ["brake-fluid", "silicone-brake-fluid"])
def test_a_new_hose_brings_the_fluid_that_is_in_the_car(fluid):
    assert fluids(fluid) == [f"renew {fluid}"]


def test_a_car_of_unknown_fluid_gets_none_of_either_base():
    assert fluids() == ["renew brake-circuit-fluid"]


def test_the_job_with_the_unknown_fluid_says_that_it_has_to_be_found_out():
    made = made_of(fitted(HOSE), wanted(HOSE))
    fill = next(job for job in made.jobs if job.kind == "brake-circuit-fluid")
    assert "find out which it holds before any is bought" in fill.reason
    assert not any("DOT" in item.name for item in fill.consumables)


def test_silicone_is_filled_before_the_brakes_are_bled():
    order = ids(fitted(HOSE, "silicone-brake-fluid"), wanted(HOSE))
    assert order.index("renew silicone-brake-fluid") < order.index("bleed brake-circuit rear left")
    assert order.index(f"renew {HOSE}") < order.index("renew silicone-brake-fluid")


def test_an_opened_clutch_of_unknown_fluid_gets_no_fluid_of_a_base():
    slave = "clutch-slave-cylinder"
    order = ids(fitted(slave), wanted(slave))
    assert [job for job in order if "fluid" in job] == ["renew clutch-circuit-fluid"]
