"""What the catalogue holds as it is delivered."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing import MECHANISMS
from maintenance.engine.columns import GRADES

CATALOGUE = catalogue()
MEASURED = ("brake-pads", "brake-discs", "brake-shoes", "brake-drums", "tyre")


def rule_of(kind, task, applies="always"):
    rules = CATALOGUE.rules_for(kind)
    return next(rule for rule in rules if (rule.task, rule.applies) == (task, applies))


def test_the_ten_systems_of_a_car_are_all_covered():
    assert {kind.system for kind in CATALOGUE.kinds.values()} == set(CATALOGUE.systems)
    assert set(CATALOGUE.systems) == set(
        "brakes wheels steering suspension engine cooling fuel electrics transmission body".split()
    )


def test_there_are_kinds_enough_for_a_whole_car():
    assert len(CATALOGUE.kinds) >= 50


@given(st.sampled_from(CATALOGUE.rules), st.sampled_from(GRADES))
def test_no_default_rule_lets_storage_lengthen_a_limit(rule, grade):
    assert rule.lay_up.factors[grade] >= 1


@pytest.mark.parametrize("kind", MEASURED)
def test_what_wears_by_friction_has_no_fixed_distance_of_renewal(kind):
    renewals = [rule for rule in CATALOGUE.rules_for(kind) if rule.task == "renew"]

    assert all(rule.distance_km is None for rule in renewals)


@pytest.mark.parametrize("kind", MEASURED)
def test_what_wears_by_friction_is_inspected_at_intervals(kind):
    assert rule_of(kind, "inspect").months is not None


def test_brake_fluid_is_renewed_every_two_years_stored_or_used():
    rule = rule_of("brake-fluid", "renew")

    assert (rule.months, rule.lay_up.factors["heated"], rule.criticality) == (24, 1, "safety")


def test_silicone_fluid_is_inspected_but_has_no_water_limit():
    rules = CATALOGUE.rules_for("silicone-brake-fluid")

    assert [(rule.task, rule.wear) for rule in rules] == [("inspect", None)]


def test_a_tyre_ages_from_the_day_it_was_made():
    assert rule_of("tyre", "renew").counts_shelf_age


@pytest.mark.parametrize("kind", ["battery", "engine", "tyre", "clutch-plate", "interior-trim"])
def test_a_car_in_store_is_cared_for_every_month(kind):
    assert rule_of(kind, "lubricate" if kind == "engine" else "inspect", "laid_up").months == 1


@pytest.mark.parametrize("kind", ["brake-caliper", "wheel-cylinder", "clutch-plate", "water-pump"])
def test_what_seizes_is_inspected_before_use_after_standing(kind):
    assert rule_of(kind, "inspect").before_use_after_months <= 12


def test_stale_petrol_is_renewed_before_use():
    rule = rule_of("fuel", "renew")

    assert (rule.before_use_after_months, rule.months) == (6, None)


@pytest.mark.parametrize("kind", ["brake-pads", "brake-shoes", "clutch-plate"])
def test_old_friction_material_warns_of_asbestos(kind):
    assert "asbestos" in [caution.slug for caution in CATALOGUE.cautions_for(kind)]


@pytest.mark.parametrize("kind", ["coil-spring", "leaf-spring", "torsion-bar"])
def test_a_spring_warns_of_its_stored_energy(kind):
    assert CATALOGUE.cautions_for(kind)[0].slug == "stored-energy"


@pytest.mark.parametrize("kind", [kind for kind in CATALOGUE.kinds if kind.startswith("fuel")])
def test_whatever_carries_petrol_warns_of_it(kind):
    assert "fuel" in CATALOGUE.kinds[kind].cautions


def test_no_row_calls_a_car_safe():
    texts = [caution.text for caution in CATALOGUE.cautions.values()]
    texts += [rule.source for rule in CATALOGUE.rules]
    texts += [kind.note for kind in CATALOGUE.kinds.values()]

    assert not [text for text in texts if "safe" in text.casefold().split()]


def test_every_mechanism_ages_some_kind_of_component():
    used = {word for kind in CATALOGUE.kinds.values() for word in kind.mechanisms}

    assert used == set(CATALOGUE.mechanisms)


def test_every_caution_is_given_somewhere():
    used = {word for kind in CATALOGUE.kinds.values() for word in kind.cautions}

    assert used == set(CATALOGUE.cautions)


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("mechanism", MECHANISMS)
def test_a_factor_in_the_table_is_the_one_its_derivation_gives(mechanism, grade):
    derived = MECHANISMS[mechanism](grade).value

    assert CATALOGUE.mechanisms[mechanism].factors[grade] == derived


@given(st.sampled_from(CATALOGUE.rules))
def test_a_rule_warns_for_less_time_than_it_runs(rule):
    assert rule.months is None or rule.warn_days < rule.months * 28
