"""Which papers still matter, found by walking from day to day."""

from tests.reference.dates import day


def in_force(papers, on):
    """The papers of one line that are still told of, in their order."""
    return [paper for paper in papers if not _taken_over(paper, papers, day(on))]


def _taken_over(paper, papers, on):
    """Whether on the day after it ends, or on any up to today, a longer one holds the field."""
    end, step = day(paper["until"]), day(paper["until"]) + 1
    while step <= max(end + 1, on):
        if any(day(other["until"]) > end and _begun(other, step) for other in papers):
            return True
        step += 1
    return False


def _begun(paper, step):
    return paper["from"] is None or day(paper["from"]) <= step
