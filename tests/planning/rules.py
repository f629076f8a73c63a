"""What the rules of the trade make of what a car asks for."""

from maintenance.catalogue.job_rules import job_rules
from maintenance.planning.expand import jobs_for
from maintenance.planning.order import in_order, prerequisites
from maintenance.planning.wanted import Fitted, Wanted

SIDES = ("left", "right")


def fitted(*places: str) -> list[Fitted]:
    """Components by kind and position: "brake-hose front left"."""
    return [Fitted(place, *_split(place)) for place in places]


def wanted(place: str, task: str = "renew", criticality: str = "safety", **said) -> Wanted:
    kind, position = _split(place)
    return Wanted(kind, position, task, place, criticality, **said)


def _split(place: str) -> tuple[str, str]:
    kind, _, position = place.partition(" ")
    return kind, position


def made_of(car, *asked, **said):
    return jobs_for(asked, job_rules(), car, **said)


def ids(car, *asked, **said) -> list[str]:
    """Ids of all jobs, in an order that keeps every prerequisite."""
    made = made_of(car, *asked, **said)
    return [job.id for job in in_order(made.jobs, steps_of(made))]


def steps_of(made):
    return prerequisites(made.jobs, job_rules(), made.steps)
