import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.tyre_codes import read_date_code


@given(st.integers(1, 52), st.integers(0, 89))
def test_every_week_of_a_tyre_begins_on_a_sunday_and_ends_on_a_saturday(week, year):
    made = read_date_code(f"{week:02}{year:02}")
    assert (made.earliest.isoweekday(), made.latest.isoweekday()) == (7, 6)


@given(st.integers(1, 52), st.integers(0, 89))
def test_a_week_of_a_tyre_begins_in_the_year_it_names(week, year):
    assert read_date_code(f"{week:02}{year:02}").earliest.year == 2000 + year


def test_three_digits_without_their_decade_are_refused_with_the_days_they_may_mean():
    with pytest.raises(ValueError, match="1989-10-22 .1989. or 1999-10-24 .1999."):
        read_date_code("439")


def test_three_digits_have_no_meaning_after_1999():
    with pytest.raises(ValueError, match="2000s"):
        read_date_code("439", decade=2000)


def test_three_digits_of_a_week_that_no_year_has_are_refused():
    with pytest.raises(ValueError, match="no year has a week 54"):
        read_date_code("549")


def test_a_week_that_the_stated_decade_lacks_is_refused():
    with pytest.raises(ValueError, match="1981 has no week 53"):
        read_date_code("531", decade=1980)


@pytest.mark.parametrize("code", ["", "31", "31045", "3A04", "DOT 3104", "٣١٠٤"])
def test_what_is_no_date_code_is_refused(code):
    with pytest.raises(ValueError, match="is no date code"):
        read_date_code(code)


@pytest.mark.parametrize("code", ["0004", "5404", "9904"])
def test_a_week_that_the_year_lacks_is_refused(code):
    with pytest.raises(ValueError, match="2004 has no week"):
        read_date_code(code)
