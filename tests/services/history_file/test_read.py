import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.services.history_file.read import read_document
from maintenance.services.refusals import Refused


def refusal(raw, limit=10**6):
    with pytest.raises(Refused) as refused:
        read_document(raw, limit=limit)
    return {problem.pointer: problem.message for problem in refused.value.problems}


def test_numbers_are_read_exactly_as_written():
    assert read_document(b'{"a": 1.1, "b": 2}', limit=100) == {"a": Decimal("1.1"), "b": 2}


def test_a_byte_order_mark_is_let_pass():
    assert read_document(b'\xef\xbb\xbf{"a": "\xc3\xa9"}', limit=100) == {"a": "é"}


def test_a_file_above_the_limit_is_refused_before_it_is_read():
    assert "HISTORY_FILE_LIMIT" in refusal(b"[" * 101, limit=100)[""]


def test_a_file_that_is_not_utf_8_is_refused_with_the_line():
    assert "line 2" in refusal(b'{"make":\n"Tarnbr\xf6k"}')[""]


def test_a_file_that_is_no_json_is_refused_with_line_and_column():
    assert "line 1, column 2" in refusal(b"{vehicles}")[""]


@pytest.mark.parametrize("raw", [b"[]", b"3", b'"vehicles"', b"null"])
def test_a_file_that_is_no_object_is_refused(raw):
    assert "JSON object" in refusal(raw)[""]


@pytest.mark.parametrize(
    "raw", [b"[" * 100_000, b'{"a":' * 100_000, b'{"a":' + b"[" * 30 + b"]" * 30 + b"}"]
)
def test_nesting_that_no_history_needs_is_refused(raw):
    assert any("nested deeper" in message for message in refusal(raw).values())


def test_every_key_that_stands_twice_is_named_by_its_place():
    car = b'{"make": 1, "make": 2, "lay_ups": [{"to": 1, "to": 1}]}'
    raw = b'{"vehicles": [' + car + b'], "vehicles/": 1, "vehicles/": 1}'
    assert set(refusal(raw)) == {"/vehicles/0/make", "/vehicles/0/lay_ups/0/to", "/vehicles~1"}


@pytest.mark.parametrize(
    "number",
    ["NaN", "Infinity", "-Infinity", "1e999", "1e99999999999999999999", "9" * 5000, "1e-40"],
)
def test_what_is_no_number_of_this_world_is_refused_with_its_place(number):
    assert set(refusal(b'{"a": [1, ' + number.encode() + b"]}")) == {"/a/1"}


@pytest.mark.parametrize("text", [r"\u0000", r"\ud800"])
def test_text_that_no_database_holds_is_refused(text):
    assert set(refusal(b'{"a": "' + text.encode() + b'"}')) == {"/a"}


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(raw):
    try:
        assert isinstance(read_document(raw, limit=150), dict)
    except Refused as refused:
        assert refused.problems


_leaves = (
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=5)
)
_trees = st.dictionaries(
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=4),
    st.recursive(_leaves, lambda inner: st.lists(inner, max_size=3), max_leaves=8),
    max_size=4,
)


@given(_trees)
def test_a_sound_tree_is_read_as_it_was_written(document):
    assert read_document(json.dumps(document).encode(), limit=10**6) == document
