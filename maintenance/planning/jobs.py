"""What a job is: one piece of planned work, what it needs and what it costs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

SAFETY = "safety"
RELIABILITY = "reliability"
APPEARANCE = "appearance"
CRITICALITIES = (SAFETY, RELIABILITY, APPEARANCE)

#: Phases that come after the car is ready to be presented.
AFTER_READY = frozenset({"inspection", "afterwards"})


@dataclass(frozen=True, slots=True)
class Part:
    """Something to be bought for a job.

    Parameters
    ----------
    name : str
        What is written on the order.
    price : int
        Price of one [minor units].
    supplier : str
        Who sells it.
    lead_days : int
        Calendar days from the order to the arrival [days].
    quantity : int
        How many [pieces].
    arrives_on : date, optional
        Known day of arrival of a part already ordered; beats the lead time.
    available : bool
        False where the part is sold only as a piece of an assembly.

    References
    ----------
    .. [1] Common practice.
    """

    name: str
    price: int = 0
    supplier: str = ""
    lead_days: int = 0
    quantity: int = 1
    arrives_on: date | None = None
    available: bool = True

    @property
    def total(self) -> int:
        """Price of the whole quantity [minor units]."""
        return self.price * self.quantity

    def arrival(self, on: date) -> date:
        """Day on which the part is at hand if it is ordered on day `on`."""
        return self.arrives_on or on + timedelta(days=self.lead_days)

    def order_by(self, needed_on: date) -> date | None:
        """Last day to order for a use on `needed_on`; none where it is ordered already."""
        return None if self.arrives_on else needed_on - timedelta(days=self.lead_days)


@dataclass(frozen=True, slots=True)
class Consumable:
    """Something that is used up: fluid, grease, cleaner, split pins.

    Parameters
    ----------
    name : str
        What it is.
    cost : int
        Cost of the amount the job takes [minor units].

    References
    ----------
    .. [1] Common practice.
    """

    name: str
    cost: int = 0


@dataclass(frozen=True, slots=True)
class Use:
    """A claim on a resource for as long as the job lasts.

    Parameters
    ----------
    resource : str
        Name of the resource: "stands", "lift", "press", "bench" or a hired tool.
    amount : int
        How many of it [pieces].

    References
    ----------
    .. [1] Brucker, P. et al. (1999), Resource-constrained project scheduling, EJOR 112, 3-41:
       renewable resources.
    """

    resource: str
    amount: int = 1


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of planned work on one component.

    Parameters
    ----------
    id : str
        Unique within the plan.
    component, kind, position, task : str
        What is worked on, and the action.
    hours : float
        Time it takes [h] with `hands` people at it.
    system : str
        Group for the sums: "hydraulics", "steering", "fuel", ...
    phase : str
        Stage of the recommissioning that the precedence rules speak of.
    criticality : str
        "safety", "reliability" or "appearance".
    parts, consumables : tuple
        What is bought and what is used up.
    cost : int
        Any other outlay, such as outside work [minor units].
    who : tuple of str
        Names or skills of those who may do it; empty for anyone.
    hands : int
        People needed at the same time [persons]; 0 where nobody need stand by.
    uses : tuple of Use
        Resources held while the job lasts.
    optional : bool
        May be left out. A safety job never is.
    value : int, optional
        What doing an optional job is worth [minor units]; none for a wish, which is done wherever
        deadline and budget allow.
    in_one_go : bool
        Must begin and end on one day without a pause.
    immobilises : bool
        The car can't be moved from the start to the end of it.
    takes_car : bool
        Nobody works on the car meanwhile: it is driven, aligned, inspected, raised or lowered.
    needed_by : tuple of str
        Ids of the jobs that call for this one; done exactly if one of them is. Empty for a job
        that stands on its own feet.
    unless : tuple of str
        Ids of jobs that make it needless; done only where none of them is.
    clears : tuple of str
        Components whose due items the job also settles, as an assembly does for its pieces.
    tags : tuple of str
        What the job does to the car, for the rules: "opens-hydraulics", "new-friction", ...
    not_before : date, optional
        First day on which it may begin, such as a booked appointment.
    cautions, sheet_fields : tuple of str
        What the job sheet warns of, and the figures it leaves to the maker's handbook.
    reason : str
        Why the job is in the plan.

    References
    ----------
    .. [1] Common practice.
    """

    id: str
    component: str = ""
    kind: str = ""
    position: str = ""
    task: str = ""
    hours: float = 1.0
    system: str = ""
    phase: str = ""
    criticality: str = RELIABILITY
    parts: tuple[Part, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    cost: int = 0
    who: tuple[str, ...] = ()
    hands: int = 1
    uses: tuple[Use, ...] = ()
    optional: bool = False
    value: int | None = None
    in_one_go: bool = False
    immobilises: bool = False
    takes_car: bool = False
    needed_by: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    not_before: date | None = None
    cautions: tuple[str, ...] = ()
    sheet_fields: tuple[str, ...] = ()
    reason: str = ""

    @property
    def name(self) -> str:
        """The job in words: "renew brake-hose front left"."""
        words = (self.task.replace("_", " "), self.kind, self.position)
        return " ".join(word for word in words if word) or self.id

    @property
    def is_wish(self) -> bool:
        """Whether it may be left out and is asked for by somebody, at no stated worth."""
        return self.optional and self.value is None and not self.needed_by

    @property
    def outlay(self) -> int:
        """Cost of parts, consumables and outside work [minor units]; labour and hire apart."""
        bought = sum(part.total for part in self.parts)
        return bought + sum(item.cost for item in self.consumables) + self.cost

    def earliest_day(self, on: date) -> date:
        """First day on which the job may begin if its parts are ordered on day `on`."""
        days = [part.arrival(on) for part in self.parts]
        return max([on, *days, *([self.not_before] if self.not_before else [])])


#: In place of an opener: the hold is open when the plan begins.
OPEN = ""


@dataclass(frozen=True, slots=True)
class Hold:
    """A resource kept from the start of one job to the end of another.

    An axle on its stands keeps them from the raising to the lowering, whatever is done between
    and however many days pass.

    Parameters
    ----------
    name : str
        What is held, in words: "front axle raised".
    opener, closer : str
        Ids of the job that begins and the job that ends it; an empty opener says that it is
        open when the plan begins.
    uses : tuple of Use
        What is kept.
    immobilises : bool
        The car can't be moved while it lasts.
    unrecorded : bool
        Both ends go without saying once what lies between them is done.

    References
    ----------
    .. [1] Common practice.
    """

    name: str
    opener: str
    closer: str
    uses: tuple[Use, ...] = ()
    immobilises: bool = False
    unrecorded: bool = False


def axle_of(position: str) -> str:
    """Axle of a position.

    Parameters
    ----------
    position : str
        Such as "front left".

    Returns
    -------
    str
        "front" or "rear"; empty where the position names none.

    References
    ----------
    .. [1] Common practice.
    """
    first = position.split(" ")[0] if position else ""
    return first if first in {"front", "rear"} else ""


def joined(*reasons: str) -> str:
    """Several reasons in one text, each once.

    Parameters
    ----------
    *reasons : str
        Sentences or half-sentences; empty ones are passed over.

    Returns
    -------
    str
        After a full stop the next follows as it is, else behind a semicolon.

    References
    ----------
    .. [1] Common practice.
    """
    text = ""
    for reason in dict.fromkeys(filter(None, reasons)):
        text += (" " if text.endswith(".") else "; " if text else "") + reason
    return text


def must_be_done(job: Job, jobs: Mapping[str, Job]) -> bool:
    """Whether a job can't be left out: not optional, and called for by one such if by any.

    Parameters
    ----------
    job : Job
        The job.
    jobs : mapping of str to Job
        All jobs of its plan by id.

    Returns
    -------
    bool
        False for wishes and for what only wishes call for.

    References
    ----------
    .. [1] Common practice.
    """
    if job.needed_by:
        return any(must_be_done(jobs[other], jobs) for other in job.needed_by)
    return not job.optional and not any(must_be_done(jobs[one], jobs) for one in job.unless)


def is_certain(job: Job, jobs: Mapping[str, Job]) -> bool:
    """Whether a job is done in every plan, whichever wishes are left out.

    Parameters
    ----------
    job : Job
        The job.
    jobs : mapping of str to Job
        All jobs of its plan by id.

    Returns
    -------
    bool
        False for what must be done unless a wish makes it needless.

    References
    ----------
    .. [1] Common practice.
    """
    if job.needed_by:
        return any(is_certain(jobs[other], jobs) for other in job.needed_by)
    return not job.optional and not job.unless


def by_id(jobs: Iterable[Job]) -> dict[str, Job]:
    """Jobs by their id.

    Parameters
    ----------
    jobs : iterable of Job
        The jobs.

    Returns
    -------
    dict of str to Job
        In the given order.

    References
    ----------
    .. [1] Common practice.
    """
    return {job.id: job for job in jobs}
