"""A rule that somebody brings: what is taken, and how a refusal reads."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rule_checks import read_rule
from maintenance.engine.columns import GRADES

WORDS = catalogue().vocabulary
FACTORS = {"heated": 1, "dry": 1, "damp": Decimal("1.5"), "outdoors": Decimal("1.25")}
LINING = {"quantity": "lining_thickness", "unit": "mm", "minimum": 3}


def a_rule(**changes):
    rule = {
        "name": "clutch fluid by the handbook",
        "kind": "clutch-fluid",
        "task": "renew",
        "months": 18,
        "lay_up": {"factors": FACTORS},
        "criticality": "reliability",
        "source": "handbook, page 61",
    }
    return {key: value for key, value in (rule | changes).items() if value is not None}


def refusals(**changes):
    return dict(read_rule(a_rule(**changes), WORDS)[1])


def test_a_rule_from_a_handbook_is_read_as_it_is_written():
    rule, problems = read_rule(a_rule(), WORDS)

    assert (rule.months, rule.lay_up.factors["damp"], problems) == (18, Decimal("1.5"), [])


def test_a_factor_keeps_the_decimals_it_was_written_with():
    rule, _ = read_rule(a_rule(lay_up={"factors": FACTORS | {"damp": 1.1}}), WORDS)

    assert rule.lay_up.factors["damp"] == Decimal("1.1")


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"kind": "clutch-fluids"}, "kind", "'clutch-fluid'"),
        ({"task": "renewal"}, "task", "'renew'"),
        ({"criticality": "saftey"}, "criticality", "'safety'"),
        ({"applies": "layed up"}, "applies", "'laid_up'"),
        ({"monts": 18}, "monts", "'months'"),
        ({"months": None}, "months", "no limit"),
        ({"months": 0}, "months", "from 1 to 1200"),
        ({"months": -24}, "months", "from 1 to 1200"),
        ({"months": "24"}, "months", "whole number"),
        ({"months": True}, "months", "whole number"),
        ({"months": 10**30}, "months", "from 1 to 1200"),
        ({"distance_km": 0}, "distance_km", "above 0"),
        ({"distance_km": float("nan")}, "distance_km", "finite"),
        ({"distance_km": float("inf")}, "distance_km", "finite"),
        ({"distance_km": "1e400"}, "distance_km", "check the number and the unit"),
        ({"distance_km": True}, "distance_km", "a number"),
        ({"task": "adjust", "before_use_after_months": 6}, "before_use_after_months", "leave it"),
        ({"applies": "laid_up", "months": None}, "months", "months of standing"),
        ({"applies": "laid_up", "distance_km": 100}, "distance_km", "no effect"),
        ({"warn_days": -1}, "warn_days", "from 0"),
        ({"warn_distance_km": -1}, "warn_distance_km", "above 0"),
        ({"source": "  "}, "source", "empty"),
        ({"name": "x" * 121}, "name", "shorten"),
        ({"source": "x" * 301}, "source", "shorten"),
        ({"distance_km": 1_000_000}, "distance_km", "up to 999999 km"),
        ({"distance_km": "5000.0001"}, "distance_km", "more than 3 decimals"),
        ({"counts_shelf_age": "no"}, "counts_shelf_age", "true or false"),
    ],
)
def test_a_slip_in_a_rule_is_told_with_its_field_and_a_remedy(changes, field, said):
    assert said in refusals(**changes)[field]


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"minimum": None}, "wear/minimum", "exactly one"),
        ({"maximum": 9}, "wear/minimum", "exactly one"),
        ({"quantity": "lining"}, "wear/quantity", "'lining_thickness'"),
        ({"unit": "cm"}, "wear/unit", "'mm'"),
        ({"minimum": 300}, "wear/minimum", "check the unit"),
        ({"new": 2}, "wear/new", "not above the minimum"),
        ({"minimum": None, "maximum": 9, "new": 9}, "wear/new", "not below the maximum"),
        ({"minimum": "1.50001"}, "wear/minimum", "more than 4 decimals"),
        ({"against": "time"}, "wear/against", "aged_days"),
        ({"quantty": "x"}, "wear/quantty", "'quantity'"),
    ],
)
def test_a_slip_in_a_wear_limit_is_told_with_its_field_and_a_remedy(changes, field, said):
    wear = {key: value for key, value in (LINING | changes).items() if value is not None}

    assert said in refusals(kind="brake-pads", wear=wear)[field]


def test_every_slip_of_a_rule_is_told_at_once():
    told = refusals(kind="clutch-fluids", months=0, source="", warn_days=-1)

    assert set(told) == {"kind", "months", "source", "warn_days"}


def test_a_penalty_distance_without_a_distance_limit_is_refused():
    told = refusals(lay_up={"factors": FACTORS, "km_per_month": 50})

    assert "no effect" in told["lay_up/km_per_month"]


def test_a_penalty_distance_beyond_belief_is_refused():
    told = refusals(distance_km=5000, lay_up={"factors": FACTORS, "km_per_month": 20_000})

    assert "check the number" in told["lay_up/km_per_month"]


def test_a_factor_beyond_belief_is_refused():
    told = refusals(lay_up={"factors": FACTORS | {"damp": 21}})

    assert "from 1 to 20" in told["lay_up/factors/damp"]


def test_a_key_with_a_slash_is_named_by_an_escaped_path():
    assert list(refusals(**{"months/km": 1})) == ["months~1km"]


@given(st.sampled_from(GRADES), st.decimals(0, "0.99", places=2))
def test_a_store_that_would_lengthen_a_limit_is_refused_with_the_reason(grade, factor):
    told = refusals(lay_up={"factors": FACTORS | {grade: factor}})

    assert "storage never lengthens a limit" in told[f"lay_up/factors/{grade}"]


@given(st.sampled_from(GRADES), st.decimals(1, 20, places=3))
def test_a_factor_is_taken_just_where_it_has_no_more_than_two_decimals(grade, factor):
    rule, _ = read_rule(a_rule(lay_up={"factors": FACTORS | {grade: factor}}), WORDS)

    assert (rule is not None) == (factor == round(factor, 2))


@given(st.sampled_from(GRADES))
def test_a_rule_that_forgets_a_storage_grade_is_refused(grade):
    factors = {name: factor for name, factor in FACTORS.items() if name != grade}

    assert "all four" in refusals(lay_up={"factors": factors})[f"lay_up/factors/{grade}"]


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)
KEYS = ["name", "kind", "task", "months", "distance_km", "lay_up", "wear", "warn_days", "source"]


@given(st.sampled_from(KEYS), ANYTHING)
def test_whatever_stands_in_a_rule_is_read_or_refused_but_never_breaks_the_reader(key, value):
    rule, problems = read_rule(a_rule() | {key: value}, WORDS)

    assert (rule is None) == bool(problems)


@given(ANYTHING)
def test_whatever_stands_in_the_place_of_a_rule_is_refused(row):
    assert read_rule(row, WORDS)[0] is None
