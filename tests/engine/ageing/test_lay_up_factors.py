"""What a day in a store counts: never less than one, whatever the mechanism, store or climate."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.ageing import MECHANISMS, rubber
from maintenance.engine.ageing.climate import GRADE_CONSTANTS
from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.factors import in_hundredths
from maintenance.engine.ageing.preparations import PREPARATIONS, with_preparations

MECHANISM = st.sampled_from(sorted(MECHANISMS))
GRADE = st.sampled_from(sorted(GRADE_CONSTANTS))
EXTREMES = st.lists(
    st.tuples(st.floats(-40, 60), st.floats(0, 100)), min_size=1, max_size=30
)  # every temperature and humidity that a record may hold


def store(rows, outdoors=False):
    temperature, humidity = zip(*rows, strict=True)
    return measured_climate(np.arange(len(rows)), temperature, humidity, outdoors=outdoors)


@given(MECHANISM, GRADE)
def test_no_grade_lengthens_a_limit(mechanism, grade):
    assert MECHANISMS[mechanism](grade).hundredths >= 100


@given(MECHANISM, EXTREMES, st.booleans())
def test_no_climate_lengthens_a_limit(mechanism, rows, outdoors):
    factor = MECHANISMS[mechanism](store(rows, outdoors))

    assert factor.hundredths >= 100


@given(EXTREMES, st.booleans(), st.sampled_from(sorted(rubber.POLYMERS)))
def test_no_climate_lengthens_the_limit_of_any_polymer(rows, outdoors, polymer):
    assert rubber.lay_up_factor(store(rows, outdoors), polymer).hundredths >= 100


@given(MECHANISM, EXTREMES, st.sets(st.sampled_from(sorted(PREPARATIONS))), st.booleans())
def test_preparations_take_no_factor_below_one_nor_raise_it(mechanism, rows, done, outdoors):
    bare = MECHANISMS[mechanism](store(rows, outdoors))
    kinds = {kind for p in PREPARATIONS.values() for e in p.effects for kind in e.kinds}

    prepared = [with_preparations(bare, kind, done).hundredths for kind in sorted(kinds)]

    assert all(100 <= hundredths <= bare.hundredths for hundredths in prepared)


@pytest.mark.parametrize("mechanism", sorted(MECHANISMS))
def test_the_dry_garage_counts_day_for_day(mechanism):
    assert MECHANISMS[mechanism]("dry").value == 1


@given(MECHANISM, EXTREMES)
def test_a_factor_has_two_decimals_at_most(mechanism, rows):
    value = MECHANISMS[mechanism](store(rows)).value

    assert value == round(value, 2)


def shown(factor):
    """The values of a derivation, without the words on which part's law is taken."""
    return [
        step.value for step in factor.steps if "SBR" not in step.text and "bond" not in step.text
    ]


@given(MECHANISM, EXTREMES, st.booleans())
def test_the_shown_lines_give_the_stored_factor(mechanism, rows, outdoors):
    factor = MECHANISMS[mechanism](store(rows, outdoors))

    here, there, least, *exposure, ratio = shown(factor)

    assert least >= max(1.0, here / there) - 1e-9
    assert least * (exposure[0] if exposure else 1.0) == ratio
    assert in_hundredths(ratio) == factor.hundredths


@given(MECHANISM, GRADE)
def test_the_shown_lines_give_the_factor_of_a_grade(mechanism, grade):
    here, there, *exposure, ratio = shown(MECHANISMS[mechanism](grade))

    assert max(1.0, here / there) * (exposure[0] if exposure else 1.0) == ratio


@given(MECHANISM, EXTREMES, st.booleans())
def test_each_measured_day_counts_by_itself_and_at_least_one(mechanism, rows, outdoors):
    days = [shown(MECHANISMS[mechanism](store([row], outdoors)))[-1] for row in rows]

    assert shown(MECHANISMS[mechanism](store(rows, outdoors)))[-1] == pytest.approx(
        sum(days) / len(days)
    )


def test_a_dry_year_pays_nothing_back_for_a_damp_one():
    damp = store([(10, 95)] * 365)
    both = store([(10, 95)] * 365 + [(10, 25)] * 365)

    # 95 over 60 %RH for half of the days, and 1 for the others
    assert MECHANISMS["moisture"](damp).value == Decimal("1.59")
    assert MECHANISMS["moisture"](both).value == Decimal("1.30")


@given(MECHANISM, GRADE)
def test_every_shown_figure_names_its_source(mechanism, grade):
    *figures, _result = MECHANISMS[mechanism](grade).steps

    assert all(step.source for step in figures)


@given(EXTREMES)
def test_the_open_air_is_never_kinder_to_rubber_than_a_roof(rows):
    roofed = rubber.lay_up_factor(store(rows)).hundredths

    assert rubber.lay_up_factor(store(rows, outdoors=True)).hundredths > roofed


@given(st.floats(-40, 60), st.floats(0, 99), st.floats(0, 1))
def test_damper_air_never_ages_brake_fluid_more_slowly(temperature, humidity, more):
    drier = MECHANISMS["moisture"](store([(temperature, humidity)])).hundredths

    assert MECHANISMS["moisture"](store([(temperature, humidity + more)])).hundredths >= drier


def test_brake_fluid_in_a_damp_barn_counts_three_days_for_two():
    assert MECHANISMS["moisture"]("damp").value == Decimal("1.50")  # 90 %RH over 60 %RH


def test_rubber_in_the_open_counts_three_days_for_two():
    assert MECHANISMS["elastomer"]("outdoors").value == Decimal("1.50")  # 10 °C: sun alone


def test_a_caliper_that_is_always_wet_counts_double():
    assert MECHANISMS["seizure"](store([(8, 95)])).value == 2


def test_a_caliper_wet_half_the_time_counts_one_and_a_half():
    assert MECHANISMS["seizure"](store([(8, 95), (8, 50)])).value == Decimal("1.5")


def test_rubber_in_a_store_at_thirty_degrees_ages_by_the_published_ratio():
    # 20 to 30 °C at 92 kJ/mol: 3.4733, rounded up
    assert MECHANISMS["elastomer"](store([(30, 50)])).value == Decimal("3.48")


def test_a_factor_is_rounded_to_the_early_side():
    assert in_hundredths(1.3333) == 134


def test_an_exact_factor_stays_exact():
    assert in_hundredths(90 / 60) == 150


def test_a_factor_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="no number"):
        in_hundredths(float("nan"))


@pytest.mark.parametrize("mechanism", sorted(MECHANISMS))
def test_an_unknown_grade_is_refused_with_the_known_ones(mechanism):
    with pytest.raises(ValueError, match="'barn' is not known; use one of heated, dry, damp"):
        MECHANISMS[mechanism]("barn")
