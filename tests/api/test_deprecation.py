"""A call that is to go says so with every answer, in time."""

import datetime

import pytest

from api.deprecation import Deprecated
from api.resources.papers import Papers

pytestmark = pytest.mark.django_db


@pytest.fixture
def leaving(monkeypatch):
    """The list of papers, as if it were to be taken away."""
    said = Deprecated(
        since=datetime.datetime(2027, 1, 1, tzinfo=datetime.UTC),
        gone=datetime.datetime(2027, 7, 1, tzinfo=datetime.UTC),
        told_at="https://cars.example/news/papers",
    )
    monkeypatch.setattr(Papers, "deprecated", {"list": said})


def test_a_call_that_is_to_go_tells_since_when_until_when_and_what_instead(leaving, secretary):
    answer = secretary.get("papers")
    assert answer["Deprecation"] == "@1798761600"
    assert answer["Sunset"] == "Thu, 01 Jul 2027 00:00:00 GMT"
    assert '<https://cars.example/news/papers>; rel="deprecation"' in answer["Link"]
    assert 'rel="first"' in answer["Link"]


def test_a_refusal_of_such_a_call_tells_it_too(leaving, secretary):
    assert secretary.get("papers?colour=red")["Deprecation"] == "@1798761600"


def test_other_calls_of_the_noun_tell_nothing(leaving, secretary):
    assert "Deprecation" not in secretary.get("papers/01931b5e-7b00-7b22-8a3b-1c2d3e4f5061")
