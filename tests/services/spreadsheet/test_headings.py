import pytest

from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.headings import match_headings
from maintenance.services.spreadsheet.places import COLUMNS

NEEDED = ["registration", "on", "component", "action"]


def refused(headings, mapping=None):
    with pytest.raises(Refused) as refusal:
        match_headings(headings, mapping)
    return [problem.message for problem in refusal.value.problems]


def test_our_own_headings_are_taken_in_any_order():
    found = match_headings(COLUMNS[::-1])
    assert [found.places[name] for name in COLUMNS] == list(range(len(COLUMNS)))[::-1]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Part Number", "part_number"),
        ("PART-NUMBER", "part_number"),
        ("Number plate", "registration"),
        ("Date", "on"),
        ("Workshop", "done_by"),
        ("Mileage", "odometer"),
        ("Remarks", "note"),
        ("suplier", "supplier"),
        ("Compnent", "component"),
        ("To", "to"),
        ("Moved to", "to"),
        ("To Vehicle", "to_vehicle"),
        ("Moved to car", "to_vehicle"),
        ("Visit no.", "visit"),
    ],
)
def test_a_heading_in_other_words_is_understood(heading, column):
    others = [name for name in NEEDED if name != column]
    assert match_headings([*others, heading]).headings[column] == heading


def test_a_mapping_goes_before_what_a_heading_looks_like():
    found = match_headings([*NEEDED, "note", "Bemerkung"], {"note": "", "Bemerkung": "note"})
    assert found.headings["note"] == "Bemerkung" and not found.left_aside


def test_two_headings_for_one_column_are_refused_by_name():
    (message,) = refused([*NEEDED, "Garage", "Workshop"])
    assert "'Garage' and 'Workshop' may each be done_by" in message


def test_a_surer_heading_goes_before_a_likeness():
    found = match_headings([*NEEDED, "done_by", "garag"])
    assert (found.headings["done_by"], found.left_aside) == ("done_by", ["garag"])


def test_the_same_heading_twice_is_refused():
    assert "'on' and 'on' may each be on" in refused([*NEEDED, "on"])[0]


def test_a_needed_column_that_is_absent_is_asked_for_by_name():
    messages = refused(["registration", "on", "action", "Bauteil"])
    assert messages == [
        "no column is headed component; rename one, or say by a mapping of columns which of "
        "'registration', 'on', 'action', 'Bauteil' it is"
    ]


def test_a_mapping_to_no_column_or_of_no_heading_is_refused():
    messages = refused(NEEDED, {"on": "dya", "Datum": "on"})
    assert messages[0].startswith("'dya' is no column") and "headed 'Datum'" in messages[1]


def test_a_heading_of_something_else_is_left_aside_and_named():
    assert match_headings([*NEEDED, "Wetter", ""]).left_aside == ["Wetter"]


@pytest.mark.parametrize("heading", ["Toe", "Vehicle", "Two", "To vehicles"])
def test_no_heading_is_taken_by_likeness_for_where_a_part_went(heading):
    assert match_headings([*NEEDED, heading]).left_aside == [heading]
