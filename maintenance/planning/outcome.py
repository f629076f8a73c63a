"""What a schedule says: who does what when, what it costs, and how sure the answer is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.planning.jobs import Job, Part
from maintenance.planning.working_calendar import Moment


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """A job with its time and its people.

    Parameters
    ----------
    job : Job
        The job.
    start, end : Moment
        When it begins and when it is finished; it may pause overnight between.
    start_slot, end_slot : int
        The same as working slots [slots].
    people : tuple of str
        Who does it.
    float_days : int
        Working days by which it may slip before the car is ready later [days]; 0 is critical.

    References
    ----------
    .. [1] Kelley, J. E. & Walker, M. R. (1959), Critical-path planning and scheduling.
    """

    job: Job
    start: Moment
    end: Moment
    start_slot: int
    end_slot: int
    people: tuple[str, ...] = ()
    float_days: int = 0


@dataclass(frozen=True, slots=True)
class Stage:
    """One objective, in the order in which they count, and how well it is met.

    Parameters
    ----------
    name, unit : str
        What is made small, and in what.
    value : int
        What the plan reaches.
    bound : int
        Proven: no plan that keeps the objectives before it is below this.

    References
    ----------
    .. [1] Common practice: lexicographic objectives.
    """

    name: str
    unit: str
    value: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.value <= self.bound

    @property
    def gap(self) -> int:
        """Most by which a better plan could beat this one [unit of the stage]."""
        return max(0, self.value - self.bound)


@dataclass(frozen=True, slots=True)
class Costs:
    """What the plan costs from now on [minor units].

    Parameters
    ----------
    parts, consumables, outside_work, labour, hire : int
        By sort of outlay.
    by_supplier, by_system : mapping of str to int
        Parts by supplier; parts, consumables, outside work and labour by system.

    References
    ----------
    .. [1] Common practice.
    """

    parts: int
    consumables: int
    outside_work: int
    labour: int
    hire: int
    by_supplier: Mapping[str, int]
    by_system: Mapping[str, int]

    @property
    def total(self) -> int:
        """All together [minor units]."""
        return self.parts + self.consumables + self.outside_work + self.labour + self.hire


@dataclass(frozen=True, slots=True)
class PartOrder:
    """A part to be ordered, and the last day to do it.

    Parameters
    ----------
    part : Part
        The part.
    job : str
        Name of the job that needs it.
    needed_on : datetime.date
        Day on which that job begins.
    order_by : datetime.date, optional
        Last day to order; none where it is ordered already.

    References
    ----------
    .. [1] Common practice.
    """

    part: Part
    job: str
    needed_on: date
    order_by: date | None


@dataclass(frozen=True, slots=True)
class Plan:
    """A schedule that keeps every demand.

    Parameters
    ----------
    jobs : tuple of PlannedJob
        In the order of their starts.
    left_out : tuple of Job
        Optional jobs that are not done.
    ready_on : datetime.date, optional
        Day in whose evening the car is ready for inspection; none where no job counts for that.
    finished_on : datetime.date, optional
        Day on which the last job ends; none where there is no job.
    costs : Costs
        What it costs.
    orders : tuple of PartOrder
        Parts to be ordered, the most urgent first.
    immobile_days : int
        Calendar days during which the car can't be moved [days].
    stages : tuple of Stage
        How well each objective is met.
    cut_short : bool
        Whether the emergency stop by the clock ended the search, so that another run may differ.

    References
    ----------
    .. [1] Common practice.
    """

    jobs: tuple[PlannedJob, ...]
    left_out: tuple[Job, ...]
    ready_on: date | None
    finished_on: date | None
    costs: Costs
    orders: tuple[PartOrder, ...]
    immobile_days: int
    stages: tuple[Stage, ...]
    cut_short: bool = False

    @property
    def proven(self) -> bool:
        """Whether each objective that counts is proven to be as small as can be."""
        return all(stage.proven for stage in self.stages if stage.name != TIDY)

    @property
    def critical(self) -> tuple[PlannedJob, ...]:
        """Jobs whose slipping by a working day makes the car ready later."""
        return tuple(planned for planned in self.jobs if planned.float_days == 0)

    def job(self, job_id: str) -> PlannedJob:
        """Planned job of an id."""
        return next(planned for planned in self.jobs if planned.job.id == job_id)


#: Last and least objective: nothing begins later than it need.
TIDY = "early starts"
