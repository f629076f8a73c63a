"""The nearest known word to what somebody wrote."""

import pytest

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import unknown


@pytest.mark.parametrize(
    ("word", "sort", "known"),
    [
        ("brake-pad", "kinds", "brake-pads"),
        ("Brake Fluid", "kinds", "brake-fluid"),
        ("tread", "quantities", "tread_depth"),
        ("lining", "quantities", "lining_thickness"),
        ("pads", "kinds", "brake-pads"),
        ("lining-thickness", "quantities", "lining_thickness"),
        ("renewed", "actions", "renew"),
        ("topup", "actions", "top_up"),
        ("overhauled", "tasks", "overhaul"),
        ("outdoor", "grades", "outdoors"),
        ("GB", "regimes", "gb"),
        ("moistur", "mechanisms", "moisture"),
    ],
)
def test_a_slip_of_the_pen_finds_the_word_that_was_meant(word, sort, known):
    assert catalogue().nearest(word, of=sort) == known


def test_a_word_like_none_finds_none():
    assert catalogue().nearest("xylophone", of="kinds") is None


def test_where_few_words_are_known_and_none_is_near_all_are_told():
    assert unknown("grade", "q", ("dry", "damp")) == ("'q' is no known grade; use one of damp, dry")


def test_where_many_words_are_known_and_none_is_near_they_are_not_listed():
    assert "no known word is near it" in unknown("kind", "xylophone", catalogue().kinds)
