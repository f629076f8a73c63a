"""Cars that have stood, and how tests plan their way back to the road."""

import datetime
from decimal import Decimal

from maintenance.models import PartOffer
from maintenance.services.plans.stored import draft_plan, make_plan
from maintenance.services.plans.terms import PersonDraft, RecommissioningDraft, weekly
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    LayUpFactory,
    ServiceEventFactory,
    VehicleFactory,
)

TODAY = datetime.date(2026, 11, 25)
FIRST, SECOND, THIRD = (datetime.date(2026, 11, 28) + n * datetime.timedelta(7) for n in range(3))
BY = datetime.date(2027, 3, 31)
STATIONS = ("front left", "front right", "rear left", "rear right")


def laid_up_car(preparations=(), **said):
    """A car off the road since 2015, with no inspection to pass and nothing fitted."""
    car = VehicleFactory(inspection_regime="", **said)
    since = {"from_on": datetime.date(2015, 10, 3), "to_on": None}
    LayUpFactory(vehicle=car, storage="damp", preparations=list(preparations), **since)
    return car


def fitted(car, kind, *positions, renewed=datetime.date(2014, 5, 1)):
    """Give a car components that were renewed on a day."""
    event = ServiceEventFactory(vehicle=car, on=renewed)
    made = [ComponentFactory(vehicle=car, kind=kind, position=p) for p in positions or ("",)]
    for component in made:
        EntryFactory(event=event, component=component)
    return made


def two_axles(**said):
    """A car with old hoses at its four wheels and old fluid."""
    car = laid_up_car(**said)
    fitted(car, "brake-hose", *STATIONS)
    fitted(car, "brake-fluid")
    return car


def offer(car, kind, price, **said):
    """Put a part on offer to the car's collection, in euro."""
    told = {"name": kind, "supplier": "Mere Lane Spares", "currency": "EUR"} | said
    return PartOffer.objects.create(
        collection=car.collection, kind=kind, price=Decimal(price), **told
    )


def draft(hours=7, people=("Ada", "Ben"), **said):
    """Terms of a plan: Saturdays from nine, two people, one pair of stands."""
    shifts = weekly(("sat",), hours)
    told = {"by": BY, "starts_on": TODAY} | said
    return RecommissioningDraft(
        people=tuple(PersonDraft(name=name, hours=shifts) for name in people), **told
    )


def planned(car, today=TODAY, **said):
    """Plan and save nothing."""
    return draft_plan(vehicle=car, draft=draft(**said), today=today)


def kept(car, at, **said):
    """Plan and keep the plan."""
    return make_plan(vehicle=car, draft=draft(**said), today=TODAY, at=at)


def day_of(sheets, key):
    return sheets.jobs[key].starts_on
