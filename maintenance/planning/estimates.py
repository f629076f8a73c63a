"""How far the estimates were off, so that the next ones are better."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Outturn:
    """Estimate and outturn of one finished job.

    Parameters
    ----------
    job : str
        Name of the job.
    estimated_hours, actual_hours : float
        [h].
    estimated_cost, actual_cost : int
        [minor units].

    References
    ----------
    .. [1] Common practice.
    """

    job: str
    estimated_hours: float
    actual_hours: float
    estimated_cost: int = 0
    actual_cost: int = 0


@dataclass(frozen=True, slots=True)
class EstimateError:
    """How the estimates of the finished jobs compare with what came.

    Parameters
    ----------
    jobs : int
        Number of jobs.
    hours_ratio, cost_ratio : float, optional
        Outturn over estimate; above 1 where it took more. None without an estimate to divide by.
    mean_hours_off : float, optional
        Mean of the differences without their sign [h]; none without a job.

    References
    ----------
    .. [1] Common practice.
    """

    jobs: int
    hours_ratio: float | None
    cost_ratio: float | None
    mean_hours_off: float | None


def estimate_error(outturns: Sequence[Outturn]) -> EstimateError:
    """Compare estimates with what came.

    Parameters
    ----------
    outturns : sequence of Outturn
        Finished jobs.

    Returns
    -------
    EstimateError
        Over all of them.

    References
    ----------
    .. [1] Common practice.
    """
    count = len(outturns)
    off = [abs(one.actual_hours - one.estimated_hours) for one in outturns]
    return EstimateError(
        jobs=count,
        hours_ratio=_ratio(
            sum(one.actual_hours for one in outturns),
            sum(one.estimated_hours for one in outturns),
        ),
        cost_ratio=_ratio(
            sum(one.actual_cost for one in outturns), sum(one.estimated_cost for one in outturns)
        ),
        mean_hours_off=sum(off) / count if count else None,
    )


def _ratio(actual: float, estimated: float) -> float | None:
    return actual / estimated if estimated else None
