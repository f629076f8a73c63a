"""What the planner says when it is asked for something that makes no sense."""


class PlanningError(ValueError):
    """A plan was asked for with input that contradicts itself.

    Notes
    -----
    The text names the job, the field and the remedy. A set of demands that is merely too much
    for the time or the money is no error but an answer: see
    :class:`maintenance.planning.conflict.Conflict`.

    References
    ----------
    .. [1] Common practice.
    """


class CycleError(PlanningError):
    """Jobs wait for each other in a ring, so that none can begin.

    Parameters
    ----------
    jobs : tuple of str
        The ring, by job name, each waiting for the one before it; the first is repeated last.

    References
    ----------
    .. [1] Kahn, A. B. (1962), Topological sorting of large networks, CACM 5(11): an order exists
       exactly where there is no cycle.
    """

    def __init__(self, jobs: tuple[str, ...]) -> None:
        self.jobs = jobs
        super().__init__(
            "these jobs wait for each other: "
            + " -> ".join(jobs)
            + "; drop or turn one of the prerequisites between them"
        )
