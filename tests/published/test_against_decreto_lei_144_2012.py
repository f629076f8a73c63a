"""Portugal: Decreto-Lei 144/2012, article 7(1) and annex I, as pages that cite it give it."""

import pytest

from tests.published.cars_under_inspection import next_inspection


@pytest.mark.parametrize(
    ("tested", "due"),
    [
        ("2025-12-01", "2027-02-28"),  # within the three months before 28 February 2026
        ("2025-11-01", "2026-02-28"),  # sooner: that of 2026 is still to be made
        ("2026-05-01", "2027-02-28"),  # late: the next is due on its day all the same
        ("2020-02-20", "2022-02-28"),  # the first, after four years; then every two until eight
    ],
)
def test_tests_stay_due_by_the_day_and_month_of_registration(tested, due):
    assert next_inspection("pt", "2016-02-29", passed=[(tested, None)], on="2026-06-01") == due
