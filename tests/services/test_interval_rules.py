from decimal import Decimal

import pytest

from maintenance.models import IntervalRule
from maintenance.services.interval_rules import (
    add_interval_rule,
    change_interval_rule,
    remove_interval_rule,
)
from maintenance.services.refusals import Outdated
from maintenance.services.rule_rows import RuleScope, rule_of
from tests.factories import (
    CollectionFactory,
    ComponentFactory,
    IntervalRuleFactory,
    VehicleFactory,
)
from tests.services.asking import refused

pytestmark = pytest.mark.django_db


def terms(**said):
    usual = {
        "name": "brake fluid every year",
        "kind": "brake-fluid",
        "task": "renew",
        "months": 12,
        "criticality": "safety",
        "source": "keeper's choice",
    }
    return usual | said


def add(today, collection=None, scope=None, **said):
    return add_interval_rule(
        collection=collection or CollectionFactory(),
        scope=scope or RuleScope(),
        rule=terms(**said),
        today=today,
    )


def test_a_rule_for_the_whole_collection_is_kept(today):
    add(today)
    row = IntervalRule.objects.get()
    assert (row.months, row.factor_damp, row.vehicle) == (12, Decimal(1), None)


def test_a_rule_comes_back_as_it_was_given(today):
    wear = {"quantity": "water_content", "unit": "%", "maximum": Decimal("2.5")}
    given = {
        "lay_up": {"factors": {"damp": Decimal("1.25")}},
        "wear": wear | {"against": "aged_days"},
    }
    rule = rule_of(add(today, **given))
    assert (rule.lay_up.factors["damp"], rule.wear.maximum) == (Decimal("1.25"), Decimal("2.5"))


def test_storage_never_lengthens_a_limit(today):
    given = {"lay_up": {"factors": {"heated": Decimal("0.5")}}}
    problems = refused(add, today=today, **given)
    assert "storage never lengthens a limit" in problems["/lay_up/factors/heated"]


def test_an_unknown_key_is_refused_with_the_nearest_one(today):
    assert "'months'" in refused(add, today=today, month=12)["/month"]


@pytest.mark.parametrize("distance", [Decimal(1_000_000), Decimal("9000.0001")])
def test_a_distance_that_would_be_cut_when_stored_is_refused(distance, today):
    assert set(refused(add, today=today, distance_km=distance)) == {"/distance_km"}


def test_a_rule_for_a_model_names_its_make(today):
    assert set(refused(add, today=today, scope=RuleScope(model="Heron"))) == {"/make"}


def test_a_rule_for_a_car_of_another_collection_is_refused(today):
    problems = refused(add, today=today, scope=RuleScope(vehicle=VehicleFactory()))
    assert set(problems) == {"/vehicle"}


def test_a_rule_for_a_position_that_the_car_does_not_have_is_refused(today):
    tyre = ComponentFactory(kind="tyre", position="front left")
    problems = refused(
        add,
        today=today,
        collection=tyre.collection,
        scope=RuleScope(vehicle=tyre.vehicle, position="front lift"),
        kind="tyre",
    )
    assert "'front left'" in problems["/position"]


def test_a_second_rule_of_one_scope_kind_and_task_is_refused(today):
    rule = IntervalRuleFactory(kind="brake-fluid", task="renew")
    problems = refused(add, today=today, collection=rule.collection)
    assert rule.name in problems["/task"]


def test_some_terms_of_a_rule_are_changed_and_the_others_stay(today):
    rule = add(today, warn_days=60)
    change_interval_rule(interval_rule=rule, version=1, changes={"months": 18}, today=today)
    rule.refresh_from_db()
    assert (rule.months, rule.warn_days, rule.version) == (18, 60, 2)


def test_a_change_of_an_outdated_version_is_refused(today):
    rule = add(today)
    with pytest.raises(Outdated):
        change_interval_rule(interval_rule=rule, version=3, changes={"months": 18}, today=today)


def test_a_change_that_leaves_no_limit_is_refused(today):
    rule = add(today)
    problems = refused(
        change_interval_rule,
        interval_rule=rule,
        version=1,
        changes={"months": None},
        today=today,
    )
    assert "no limit" in problems["/months"]


def test_a_rule_is_removed(today):
    rule = add(today)
    remove_interval_rule(interval_rule=rule, version=1, today=today)
    assert not IntervalRule.objects.exists()
