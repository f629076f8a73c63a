"""Government guidance for Great Britain on test dates and historic vehicles, read 2026-11-25."""

import pytest

from tests.published.cars_under_inspection import next_inspection


def test_the_first_test_is_due_on_the_third_anniversary_of_registration():
    assert next_inspection("gb", "2020-05-13", on="2021-01-01") == "2023-05-13"


def test_a_test_otherwise_runs_for_twelve_months_less_a_day():
    passed = [("2006-06-20", None)]
    assert next_inspection("gb", "1999-01-01", passed=passed, on="2006-07-01") == "2007-06-19"


@pytest.mark.parametrize(
    ("tested", "expires"),
    [("2007-03-02", "2008-04-01"), ("2007-04-01", "2008-04-01"), ("2007-03-01", "2008-02-29")],
)
def test_a_test_up_to_a_month_less_a_day_early_keeps_the_date(tested, expires):
    # Expiry 1 April 2007: from 2 March the new one ends on 1 April 2008; a day sooner it counts
    # from the test.
    passed = [("2006-04-02", "2007-04-01"), (tested, None)]
    assert next_inspection("gb", "1999-01-01", passed=passed, on="2007-05-01") == expires


@pytest.mark.parametrize(
    ("tested", "expires"), [("2026-11-10", "2027-11-29"), ("2026-10-29", "2027-10-28")]
)
def test_a_first_test_made_up_to_a_month_early_keeps_the_date_too(tested, expires):
    # A test station's page on when to test, cited: the rule holds before the first test as well.
    passed = [(tested, None)]
    assert next_inspection("gb", "2023-11-30", passed=passed, on="2026-12-01") == expires


def test_a_test_on_16_april_keeps_an_expiry_of_15_may():
    passed = [("2020-05-16", "2021-05-15"), ("2021-04-16", None)]
    assert next_inspection("gb", "1999-01-01", passed=passed, on="2021-06-01") == "2022-05-15"


def test_a_car_registered_on_31_may_1978_needs_none_from_31_may_2018():
    car = {"built": "1978-05-02", "unchanged": True, "passed": [("2017-05-29", "2018-05-30")]}
    assert next_inspection("gb", "1978-05-31", on="2018-05-30", **car) == "2018-05-30"
    assert next_inspection("gb", "1978-05-31", on="2018-05-31", **car) is None


@pytest.mark.parametrize(
    "lacks", [{"built": None, "unchanged": True}, {"built": "1978-05-02", "unchanged": False}]
)
def test_no_car_is_exempt_without_its_build_date_and_the_keepers_word(lacks):
    passed = [("2017-05-29", "2018-05-30")]
    due = next_inspection("gb", "1978-05-31", passed=passed, on="2019-01-01", **lacks)
    assert due == "2018-05-30"
