"""Papers that run out, and those that a later paper has taken over from."""

import numpy as np

from maintenance.engine.columns import Ints, Papers


def papers_in_force(papers: Papers, on: int) -> Ints:
    """Return the rows of the papers of which it is still to be told that they run out.

    A paper is taken over by one of the same line that lasts longer and either follows without a
    gap or has begun. Until the later one begins, a gap before it is told of.

    Parameters
    ----------
    papers : Papers
        In any order; `line` is the same for papers of which one renews another.
    on : int
        Day asked about [days since 1970-01-01].

    Returns
    -------
    array of int
        Rows of `papers` that no other takes over from, ascending.

    References
    ----------
    .. [1] Common practice: a renewed policy is proved by its newest certificate.
    """
    ranked = np.lexsort((-papers.until, papers.line))
    line, until, begins = papers.line[ranked], papers.until[ranked], papers.begins[ranked]
    taken_over = np.zeros(line.size, dtype=bool)
    # Each paper is held against the one so many places before it, among those of its line that
    # last longer: as many steps as the longest line has papers.
    for step in range(1, line.size):
        same = line[step:] == line[:-step]
        if not same.any():
            break
        follows = begins[:-step] <= np.maximum(until[step:] + 1, on)
        taken_over[step:] |= same & (until[:-step] > until[step:]) & follows
    return np.sort(ranked[~taken_over])
