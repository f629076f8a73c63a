"""Papers that renew each other, against the day-walking reading of the same."""

import datetime

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.columns import Papers
from maintenance.engine.papers import papers_in_force
from tests.engine.columns_from_history import engine_day
from tests.reference.papers import in_force

ON = "2026-11-25"


@st.composite
def paper(draw):
    until = draw(st.dates(datetime.date(2026, 10, 1), datetime.date(2027, 1, 20)))
    from_on = draw(st.none() | st.integers(0, 60))
    begins = None if from_on is None else (until - datetime.timedelta(from_on)).isoformat()
    return {"line": draw(st.integers(0, 2)), "from": begins, "until": until.isoformat()}


def columns(papers):
    line = np.array([paper["line"] for paper in papers], dtype=np.int64)
    begins = np.array([engine_day(paper["from"]) for paper in papers], dtype=np.int64)
    until = np.array([engine_day(paper["until"]) for paper in papers], dtype=np.int64)
    return Papers(line, line, begins, until, np.zeros_like(line))


@given(st.lists(paper(), max_size=8))
def test_the_papers_in_force_are_those_of_the_reference(papers):
    found = [papers[row] for row in papers_in_force(columns(papers), engine_day(ON))]
    lines = [[each for each in papers if each["line"] == line] for line in range(3)]
    kept = [each for line in lines for each in in_force(line, ON)]
    assert sorted(map(repr, found)) == sorted(map(repr, kept))
