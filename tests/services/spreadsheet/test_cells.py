import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.services.spreadsheet.cells import day_stated, harmless, number, plain, read_cells

DAYS = st.dates(datetime.date(1900, 1, 1), datetime.date(2100, 12, 31))


@pytest.mark.parametrize(
    ("text", "order", "iso"),
    [
        ("2019-05-01", None, "2019-05-01"),
        ("2019-5-1", None, "2019-05-01"),
        ("2019-05", "dmy", "2019-05"),
        ("2019", None, "2019"),
        ("2019/05/01", None, "2019-05-01"),
        ("2019-05-01 00:00:00", None, "2019-05-01"),
        ("3.4.2019", "dmy", "2019-04-03"),
        ("3/4/2019", "mdy", "2019-03-04"),
        ("2019.4.3", "ymd", "2019-04-03"),
        ("13/4/2019", None, "2019-04-13"),
        ("4/13/2019", None, "2019-04-13"),
        ("4.4.2019", None, "2019-04-04"),
    ],
)
def test_a_day_is_understood(text, order, iso):
    assert day_stated(text, order) == iso


@pytest.mark.parametrize(
    ("text", "order", "says"),
    [
        ("3/4/2019", None, "may be 2019-04-03 or 2019-03-04; state the order"),
        ("13/4/2019", "mdy", "no day of the calendar in the order mdy"),
        ("31.2.2019", "dmy", "no day of the calendar"),
        ("2019-02-29", None, "no day of the calendar"),
        ("2019-13", None, "no month of the calendar"),
        ("3/4/19", "dmy", "year of 2 digits"),
        ("3/4/2019", "ymd", "does not begin with the year"),
        ("43586", None, "is no date"),
        ("last May", None, "is no date"),
        ("2019-05-01 14:30:00", None, "is no date"),
        ("٣/٤/٢٠١٩", "dmy", "is no date"),
    ],
)
def test_a_day_that_is_none_or_may_be_two_is_refused(text, order, says):
    with pytest.raises(ValueError, match=says):
        day_stated(text, order)


@given(day=DAYS, order=st.sampled_from(["dmy", "mdy"]), mark=st.sampled_from("./-"))
def test_every_day_is_read_in_the_order_stated(day, order, mark):
    parts = {"d": f"{day.day}", "m": f"{day.month}", "y": f"{day.year}"}
    text = mark.join(parts[each] for each in order)
    assert day_stated(text, order) == day.isoformat()


@given(day=DAYS, order=st.sampled_from(["dmy", "mdy"]))
def test_without_an_order_no_day_is_read_as_another(day, order):
    parts = {"d": f"{day.day}", "m": f"{day.month}", "y": f"{day.year}"}
    try:
        assert day_stated("/".join(parts[each] for each in order), None) == day.isoformat()
    except ValueError as refusal:
        assert day.day <= 12 and "state the order" in str(refusal)


@pytest.mark.parametrize(
    ("text", "value"),
    [("48100.5", "48100.5"), ("48100,5", "48100.5"), (" 7 ", "7"), (".5", "0.5"), ("1e3", "1000")],
)
def test_a_number_is_understood(text, value):
    assert number(text, grouped=True) == Decimal(value)


@pytest.mark.parametrize(
    "text", ["48,100", "48.100", "1.234.567", "1.234,5", "12 km", "", "nan", "1e999", "0x1F", "--1"]
)
def test_a_number_that_is_none_or_may_be_two_is_refused(text):
    with pytest.raises(ValueError):
        number(text, grouped=True)


def test_a_measured_value_may_have_three_decimals():
    assert number("1.250", grouped=False) == Decimal("1.25")


@pytest.mark.parametrize("text", ["=1+1", "+49 1", "-", "@SUM(A1)", "\tx", "\rx", "'=1", "''-"])
def test_what_would_begin_a_formula_gets_an_apostrophe_and_loses_it_again(text):
    assert harmless(text) == f"'{text}"
    assert plain(harmless(text)) == text


@pytest.mark.parametrize("text", ["", "'tis", "brake fluid", "1=1", "’=1"])
def test_what_begins_no_formula_stays_as_it_is(text):
    assert harmless(text) == text == plain(text)


@given(st.text(alphabet="'=+-@\t\ra ", max_size=6) | st.text())
def test_every_text_is_read_back_equal_and_begins_no_formula(text):
    assert plain(harmless(text)) == text
    assert not harmless(text).startswith(("=", "+", "-", "@", "\t", "\r"))


def test_an_error_of_the_spreadsheet_is_no_value():
    _, problems = read_cells(7, {"value": "#REF!"}, None)
    assert "holds the error #REF!" in problems[0].message


@pytest.mark.parametrize("column", ["quantity", "value", "unit"])
def test_a_measurement_lacking_a_part_is_refused_where_it_lacks(column):
    row = {"quantity": "lining_thickness", "value": "6", "unit": "mm"} | {column: ""}
    _, problems = read_cells(7, row, None)
    assert [problem.pointer for problem in problems] == [f"/rows/7/{column}"]


def test_kinds_and_actions_may_be_written_as_words():
    cells, _ = read_cells(7, {"component": "Brake fluid", "action": "Top up"}, None)
    assert (cells["component"], cells["action"]) == ("brake-fluid", "top_up")


@pytest.mark.parametrize("column", ["to", "to_vehicle"])
def test_where_a_part_went_is_for_a_move_alone(column):
    _, problems = read_cells(7, {"action": "renew", column: "rack"}, None)
    assert [problem.pointer for problem in problems] == [f"/rows/7/{column}"]
    assert not read_cells(7, {"action": "move", column: "rack"}, None)[1]


def test_an_unknown_action_is_left_to_those_who_know_the_nearest_one():
    assert not read_cells(7, {"action": "moved", "to": "rack"}, None)[1]
