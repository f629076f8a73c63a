from decimal import Decimal

import pytest

from maintenance.services.checks.figures import money_problems, text_problems


@pytest.mark.parametrize("name", ["a\r\nb", "a\tb", "a\u2028b", "a\x1bb", "a\x85b"])
def test_a_name_stands_on_one_line(name):
    (problem,) = text_problems("/name", name, longest=80)
    assert "line break" in problem.message


def test_a_note_may_have_many_lines():
    assert list(text_problems("/note", "drained\nrefilled")) == []


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        ("-5", "-5 is negative; give 0 or more units of the currency"),
        ("NaN", "NaN is not a number; give a plain number of units of the currency"),
    ],
)
def test_a_budget_that_can_not_be_says_what_to_give(amount, said):
    (problem,) = money_problems("/budget", Decimal(amount))
    assert problem.message == said
