"""One car and one rule, small enough to be worked out on paper, asked of the engine."""

import datetime

from maintenance.engine.days import to_day
from maintenance.engine.due import due_items
from tests.engine.columns_from_history import fleet_of, items_by_car
from tests.strategies import Case

RULE = {
    "name": "renewal",
    "kind": "brake-fluid",
    "task": "renew",
    "lay_up": {
        "factors": {"heated": 1, "dry": 1, "damp": 1.5, "outdoors": 2},
        "km_per_month": 0,
    },
    "applies": "always",
    "warn_days": 30,
    "warn_distance_km": 500,
    "criticality": "safety",
    "source": "common practice",
}
CAR = {
    "first_registered_on": "1985-05-13",
    "built_on": "1985-04-02",
    "substantially_changed": None,
    "odometer_unit": "km",
    "odometer_digits": 6,
    "expected_annual_distance": None,
    "season_from_month": None,
    "season_to_month": None,
    "odometer_readings": [],
    "odometer_changes": [],
    "lay_ups": [],
    "components": [{"kind": "brake-fluid", "position": "", "assembly": None}],
    "service_events": [],
    "inspections": [],
}


def event(on, action="renew", kind="brake-fluid", odometer=None, **entry):
    """A service event of one entry."""
    return {
        "on": on,
        "odometer": odometer,
        "entries": [{"kind": kind, "position": "", "action": action, **entry}],
    }


def answer(*, on, rule, **car):
    """The engine's answer for one component under one rule."""
    places = [(part["kind"], part["position"]) for part in car.get("components", CAR["components"])]
    named = RULE | rule
    asked = [place for place in places if place[0] == named["kind"]]
    fleet = fleet_of([Case(CAR | car, [(named, asked)], None, on)])
    found = due_items(fleet.batch, on=to_day(datetime.date.fromisoformat(on)))
    (items,) = items_by_car(fleet, found)
    return items[0] if items else None
