"""The car itself: nobody works on it while it is driven, inspected or on its way up or down."""

from maintenance.planning.model import Model
from maintenance.planning.order import after, before


def add_car(model: Model) -> None:
    """Let nobody work on the car while a job takes it whole.

    Parameters
    ----------
    model : Model
        Gets the constraints.

    Notes
    -----
    Only pairs that no chain of prerequisites keeps apart, whatever is left out, need a constraint
    of their own.

    References
    ----------
    .. [1] Common practice.
    """
    for one, other in _free_pairs(model):
        model.cp.add_no_overlap([model.jobs[one].interval, model.jobs[other].interval])


def _free_pairs(model: Model) -> list[tuple[str, str]]:
    jobs, steps = model.problem.jobs, model.problem.steps
    takers = [job.id for job in jobs if job.takes_car]
    found = []
    for number, taker in enumerate(takers):
        apart = {taker, *takers[:number]}
        apart |= before(taker, steps, model.certain) | after(taker, steps, model.certain)
        found += [(taker, job.id) for job in jobs if job.id not in apart]
    return found
