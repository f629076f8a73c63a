"""A second reading of how due days come about, slow and obvious, to hold the engine against.

One car as a history file has it, the rules that apply to its components, its inspection regime
and the day asked about go in; plain dictionaries come out. It walks from day to day, in whole
numbers and exact fractions. Nothing of the engine is imported here.
"""

from tests.reference.criteria import (
    Distance,
    first_use_due,
    storage_care_due,
    tenths_of_mm,
    time_due,
    without_band,
)
from tests.reference.dates import add_months, day, iso
from tests.reference.history import History
from tests.reference.inspection import inspection_due, open_findings
from tests.reference.moves import PartOdometer, PartStanding, Walk, shelves
from tests.reference.odometer import Odometer
from tests.reference.standing import Standing
from tests.reference.wear import wear_due

INSPECTION = "roadworthiness-inspection"
ORDER = ("time", "distance", "wear", "first_use", "inspection", "finding")


def due_items(vehicle, rules, regime, on, fleet=()):
    """Every due item of one car.

    `rules` pairs each rule with the (kind, position) of the components it applies to; `regime`
    is None where no inspection is asked for. `fleet` are all cars between which parts moved.
    """
    car = Car(vehicle, day(on), fleet or [vehicle])
    items = [
        item
        for rule, components in rules
        for component in components
        if (item := car.rule_item(rule, component)) is not None
    ]
    for component, failed in open_findings(vehicle, car.history, car.on):
        items.append(car.finding_item(component, failed))
    if (item := car.inspection_item(regime)) is not None:
        items.append(item)
    return items


class Car:
    def __init__(self, vehicle, on, fleet):
        self.on, self.vehicle = on, vehicle
        self.horizon = add_months(on, 1200)
        self.fleet = {car.get("registration"): car for car in fleet}
        self.grades = shelves(fleet)
        self._known = {}
        self.mark = vehicle.get("registration")
        self.standing, self.odometer = self._car(self.mark)
        histories = {mark: History.of(car, on) for mark, car in self.fleet.items()}
        walk = Walk(histories, self.grades)
        walk.all_events(list(self.fleet))
        self.history = histories[self.mark]
        self.history.parts = {
            place: walk.parts[self.mark, *place] for place in self.history.assemblies
        }

    def _car(self, mark):
        if mark not in self._known:
            standing = Standing(self.fleet[mark]["lay_ups"], self.on)
            self._known[mark] = standing, Odometer(self.fleet[mark], standing, self.on)
        return self._known[mark]

    def _time_and_distance(self, component):
        """By what a part ages and travels: its car's, unless it was ever elsewhere."""
        part = self.history.parts[component]
        where = {place if place in self.grades else place[0] for _, place in part.came}
        if where == {self.mark}:
            return self.standing, self.odometer
        return (
            PartStanding(part, self.grades, lambda mark: self._car(mark)[0], self.on),
            PartOdometer(part, self.grades, lambda mark: self._car(mark)[1]),
        )

    def rule_item(self, rule, component):
        if self.history.removed(component):
            return None
        reset = self.history.last_reset(component, rule["task"])
        standing, odometer = self._time_and_distance(component)
        if rule.get("applies") == "laid_up":
            return self._storage_care(rule, component, reset, standing)
        if reset is None:
            return _item(component, rule["name"], [], "no_record", "no_record")
        criteria, unmeasured, waits, distance = self._criteria(
            rule, component, reset, standing, odometer
        )
        reached, close = self._distance_on(distance, rule)
        status = self._status(criteria, rule, standing, waits=waits, reached=reached, close=close)
        if unmeasured and status == "in_date":
            status = "unmeasured"
        item = _item(component, rule["name"], criteria, status)
        if distance is not None and (shown := distance.due_at_odometer(self.on)) is not None:
            item["due_at_odometer"] = shown / 10
        return item

    def _criteria(self, rule, component, reset, standing, odometer):
        criteria, unmeasured, waits, distance = [], False, False, None
        if rule.get("months") is not None:
            criteria.append(time_due(rule, standing, reset, self.horizon))
        if rule.get("distance_km") is not None:
            distance = Distance(rule, odometer, standing, reset.day)
            criteria.append(distance.due(self.horizon))
        if rule.get("wear") is not None:
            found, measured = wear_due(
                rule, component, self.history, odometer, standing, self.horizon
            )
            criteria.append(found)
            unmeasured = len(criteria) == 1 and not measured
        if rule.get("before_use_after_months") is not None:
            found, waits = first_use_due(rule, standing, reset.day, self.on)
            criteria.append(found)
        return criteria, unmeasured, waits, distance

    def _distance_on(self, distance, rule):
        if distance is None:
            return False, False
        to_go = distance.limit - distance.gone(self.on)
        return to_go <= 0, to_go <= tenths_of_mm(rule.get("warn_distance_km", 500))

    def _storage_care(self, rule, component, reset, standing):
        if standing.period(self.on) is None:
            return None
        criteria = [storage_care_due(rule, standing, reset, self.on, self.horizon)]
        status = self._status(criteria, rule, standing, on_the_road=False)
        return _item(component, rule["name"], criteria, status)

    def finding_item(self, component, failed):
        criteria = [without_band("finding", failed)]
        return _item(component, "", criteria, self._status(criteria, {}, self.standing))

    def inspection_item(self, regime):
        criterion = inspection_due(self.vehicle, regime, self.standing, self.on)
        if criterion is None:
            return None
        waits = criterion.day is None and self.standing.period(self.on) is not None
        status = self._status([criterion], {}, self.standing, waits=waits)
        return _item((INSPECTION, ""), "", [criterion], status)

    def _status(
        self, criteria, rule, standing, waits=False, reached=False, close=False, on_the_road=True
    ):
        due = _earliest(row.day for row in criteria)
        period = standing.period(self.on)
        if on_the_road and period is not None:
            back = max(self.on, period.known_end or self.on)
            if waits or (due is not None and due <= back):
                return "before_use"
        if reached or (due is not None and due < self.on):
            return "overdue"
        if close or (due is not None and due - self.on <= rule.get("warn_days", 30)):
            return "falling_due"
        return "in_date"


def _earliest(days):
    return min((day for day in days if day is not None), default=None)


def _item(component, rule, criteria, status, governed_by=None):
    due = _earliest(row.day for row in criteria)
    criteria = sorted(criteria, key=lambda row: ORDER.index(row.name))
    governing = [row.name for row in criteria if row.day == due]
    return {
        "component": component[0],
        "position": component[1],
        "rule": rule,
        "status": status,
        "due_on": iso(due),
        "due_at_odometer": None,
        "governed_by": governed_by or governing[0],
        "earliest_on": iso(_earliest(row.early for row in criteria)),
        "latest_on": iso(_earliest(row.late for row in criteria)),
        "criteria": [{"criterion": row.name, "due_on": iso(row.day)} for row in criteria],
    }
