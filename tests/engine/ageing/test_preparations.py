"""Preparations for a lay-up change what they truly change, and nothing else."""

import pytest

from maintenance.engine.ageing import MECHANISMS
from maintenance.engine.ageing.preparations import (
    PREPARATIONS,
    preparation_of,
    with_preparations,
)


def test_a_maintainer_takes_away_all_that_a_warm_store_adds():
    warm = MECHANISMS["self_discharge"]("heated")

    assert with_preparations(warm, "battery", ["battery-maintainer"]).value == 1 < warm.value


def test_a_car_moved_monthly_sticks_half_as_much_more():
    stuck = MECHANISMS["seizure"]("damp")  # 2.00

    assert with_preparations(stuck, "brake-caliper", ["moved-monthly"]).hundredths == 150


def test_a_full_tank_does_nothing_for_the_calipers():
    stuck = MECHANISMS["seizure"]("damp")

    assert with_preparations(stuck, "brake-caliper", ["full-tank"]) == stuck


def test_inhibiting_the_engine_does_nothing_for_the_brake_pipes():
    rust = MECHANISMS["steel_corrosion"]("damp")

    assert with_preparations(rust, "brake-pipe", ["engine-inhibited"]) == rust


def test_fresh_brake_fluid_takes_up_water_as_before():
    wet = MECHANISMS["moisture"]("damp")

    fresh = with_preparations(wet, "brake-fluid", ["fresh-brake-fluid"])

    assert fresh.hundredths == wet.hundredths
    assert "takes up water as fast as before" in fresh.steps[-1].text


def test_of_two_preparations_the_stronger_counts_once():
    stale = MECHANISMS["fuel"]("outdoors")

    both = with_preparations(stale, "fuel", ["full-tank", "drained-tank"])

    assert both.value == 1


def test_the_reason_is_shown_in_the_derivation():
    stuck = MECHANISMS["seizure"]("damp")

    steps = with_preparations(stuck, "wheel-cylinder", ["moved-monthly"]).steps

    assert any("less time to stick" in step.text for step in steps)


@pytest.mark.parametrize("preparation", PREPARATIONS.values(), ids=list(PREPARATIONS))
def test_a_preparation_says_what_it_changes_and_what_it_leaves(preparation):
    assert (preparation.effects or preparation.estimates) and preparation.leaves


@pytest.mark.parametrize("preparation", PREPARATIONS.values(), ids=list(PREPARATIONS))
def test_an_effect_reaches_a_mechanism_and_gives_reason_and_source(preparation):
    assert all(e.mechanism in MECHANISMS and e.reason and e.source for e in preparation.effects)


@pytest.mark.parametrize(
    ("effect", "slug"),
    [(effect, p.slug) for p in PREPARATIONS.values() for effect in p.effects],
    ids=lambda value: value if isinstance(value, str) else value.mechanism,
)
def test_every_effect_lowers_the_factor_of_a_store_that_adds_to_it(effect, slug):
    grades = ("heated", "dry", "damp", "outdoors")
    worst = max((MECHANISMS[effect.mechanism](grade) for grade in grades), key=lambda f: f.value)

    for kind in effect.kinds:
        assert with_preparations(worst, kind, [slug]).value < worst.value


def test_an_unknown_preparation_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="'magic' is not known; use one of fresh-brake-fluid"):
        preparation_of("magic")
