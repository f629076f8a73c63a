"""Cars as history files have them, turned into the engine's columns, and its answer turned back."""

from dataclasses import dataclass, field, fields

import numpy as np

from maintenance.engine import columns
from maintenance.engine.days import NEVER, NO_DAY
from tests.reference import INSPECTION
from tests.reference.criteria import tenths_of_mm
from tests.reference.dates import day as ordinal
from tests.reference.dates import iso, made_on, span
from tests.reference.history import place
from tests.reference.odometer import plain_readings, tenths

EPOCH = ordinal("1970-01-01")
UNIT_TENTHS_OF_MM = {"km": 10_000_000, "mi": 16_093_440}
TABLES = {table.name: table.type for table in fields(columns.Batch)}


@dataclass
class Fleet:
    """The columns of some cars, and what is needed to name the rows of their answer."""

    batch: columns.Batch
    places: list
    rule_names: list


@dataclass
class Building:
    rows: dict = field(default_factory=lambda: {name: [] for name in TABLES})
    places: list = field(default_factory=list)
    quantities: list = field(default_factory=list)
    order: int = 0
    event: int = 0

    def add(self, table, **row):
        self.rows[table].append(row)
        return len(self.rows[table]) - 1

    def quantity(self, name):
        if name not in self.quantities:
            self.quantities.append(name)
        return self.quantities.index(name)


def engine_day(text):
    return int(NO_DAY) if text is None else ordinal(text) - EPOCH


def fleet_of(cases):
    """The columns of a list of cars, each a `tests.strategies.Case`."""
    building = Building()
    lent = _lenders(cases)
    cars = [case.vehicle for case in cases] + lent
    regimes = [case.regime for case in cases] + [None] * len(lent)
    rows = [_add_car(building, *both) for both in zip(cars, regimes, strict=True)]
    by_mark = {car.get("registration"): row[1] for car, row in zip(cars, rows, strict=True)}
    # In the order in which the whole fleet was recorded, whichever cars of it are asked about.
    rank = {id(car): number for case in cases for number, car in enumerate(case.fleet)}
    for number in sorted(range(len(cars)), key=lambda place: rank.get(id(cars[place]), place)):
        _add_events(building, rows[number][1], cars[number], by_mark)
    for case, (vehicle, places) in zip(cases, rows, strict=False):
        _add_inspections(building, vehicle, places, case.vehicle)
        _add_rules(building, places, case.rules)
    tables = {name: _table(name, rows) for name, rows in building.rows.items()}
    names = [row["name"] for row in building.rows["rules"]]
    return Fleet(columns.Batch(**tables), building.places, names)


def _lenders(cases):
    """Cars of the fleets that are not asked about, from which parts may have come."""
    asked = {id(case.vehicle) for case in cases}
    found = {id(car): car for case in cases for car in case.fleet if id(car) not in asked}
    return list(found.values())


def _table(name, rows):
    table, whole = TABLES[name], {}
    for column in fields(table):
        values = [row[column.name] for row in rows]
        dtype = {
            columns.Floats: np.float64,
            columns.Bools: np.bool_,
            columns.Texts: np.object_,
        }.get(column.type, np.int64)
        whole[column.name] = np.array(values, dtype=dtype)
    if name == "rules" and not rows:
        whole["factors"] = np.zeros((0, len(columns.GRADES)), dtype=np.int64)
    if name == "regimes":
        for bands in ("band_from_months", "band_every_months"):
            whole[bands] = whole[bands].reshape(len(rows), -1 if rows else MOST_BANDS)
    return table(**whole)


MOST_BANDS = 4


def _add_car(building, car, regime):
    """Add a car with its places, and return its row and theirs."""
    vehicle = building.add(
        "vehicles",
        built=engine_day(car["built_on"]),
        first_registered=engine_day(car["first_registered_on"]),
        unchanged=car["substantially_changed"] is False,
        odometer_unit=UNIT_TENTHS_OF_MM[car["odometer_unit"]],
        odometer_digits=car["odometer_digits"],
        expected_annual=-1
        if car["expected_annual_distance"] is None
        else car["expected_annual_distance"],
        regime=-1 if regime is None else _add_regime(building, regime),
        season_from=car["season_from_month"] or 0,
        season_to=car["season_to_month"] or 0,
    )
    for row in car["lay_ups"]:
        building.add(
            "lay_ups",
            vehicle=vehicle,
            start=engine_day(row["from"]),
            end=engine_day(row["to"]),
            expected=engine_day(row["expected_to"]),
            grade=columns.GRADES.index(row["storage"]),
        )
    _add_readings(building, vehicle, car)
    return vehicle, _add_components(building, vehicle, car)


def _add_regime(building, regime):
    bands = regime["bands"]
    padding = MOST_BANDS - len(bands)
    return building.add(
        "regimes",
        name=regime["name"],
        source="",
        first_after_months=regime["first_after_months"],
        band_from_months=[row["from_age_months"] for row in bands] + [int(NEVER)] * padding,
        band_every_months=[row["every_months"] for row in bands] + [0] * padding,
        exempt_after_months=-1
        if regime["exempt_after_months"] is None
        else regime["exempt_after_months"],
        day_before=regime["certificate_end"] == "day_before",
        month_end=regime["certificate_end"] == "month_end",
        keeps_date_months=regime["keeps_date_months_early"],
        keeps_first_date=regime["date_kept"] == "first_due",
        by_registration=regime["date_kept"] == "registration",
        suspended_off_road=regime["suspended_off_road"],
    )


def _add_readings(building, vehicle, car):
    rows = [(day, value, columns.PLAIN_READING) for day, value in plain_readings(car)]
    for change in car["odometer_changes"]:
        day = ordinal(change["on"])
        rows.append((day, tenths(change["old_value"]), columns.OLD_INSTRUMENT))
        rows.append((day, tenths(change["new_value"]), columns.NEW_INSTRUMENT))
    for day, value, kind in rows:
        building.add("readings", vehicle=vehicle, day=day - EPOCH, tenths=value, kind=kind)


def _add_components(building, vehicle, car):
    """Add a car's components and return the row of each by its kind and position."""
    rows = {}
    for component in car["components"]:
        rows[place(component)] = len(building.rows["components"]) + len(rows)
    for component in car["components"]:
        assembly = component.get("assembly")
        row = rows[place(assembly)] if assembly else -1
        storage = component.get("storage")
        grade = columns.GRADES.index(storage) if storage else -1
        building.add("components", vehicle=vehicle, assembly=row, storage=grade)
        building.places.append(place(component))
    return rows


def _add_events(building, components, car, by_mark):
    for event in car["service_events"]:
        building.event += 1
        first, last = (day - EPOCH for day in span(event["on"]))
        for row in event["entries"]:
            to = row.get("to")
            there = by_mark[to["vehicle"]] if to and "vehicle" in to else components
            goes_to = there[row["kind"], to.get("position", "")] if to else -1
            _add_entry(building, components, row, first, last, goes_to)


def _add_entry(building, components, row, first, last, goes_to):
    building.order += 1
    made = made_on(row.get("manufactured"))
    component = components[place(row)]
    entry = building.add(
        "entries",
        component=component,
        day=first,
        order=building.order,
        action=columns.ACTIONS.index(row["action"]),
        manufactured=int(NO_DAY) if made is None else made - EPOCH,
        last_day=last,
        event=building.event,
        moved_to=goes_to,
    )
    for part in row.get("carried_over", ()):
        building.add("carried_over", entry=entry, component=components[place(part)])
    if measured := row.get("measurement"):
        building.add(
            "measurements",
            component=component,
            day=first,
            order=building.order,
            quantity=building.quantity(measured["quantity"]),
            value=float(measured["value"]),
        )


def _add_inspections(building, vehicle, components, car):
    for test in sorted(car["inspections"], key=lambda row: row["on"]):
        day = engine_day(test["on"])
        passed = test["result"] == "pass"
        expires = engine_day(test["expires_on"])
        inspection = building.add(
            "inspections", vehicle=vehicle, day=day, passed=passed, expires=expires
        )
        for row in test["findings"]:
            if row["category"] in ("major", "dangerous"):
                component = components[place(row)]
                building.add(
                    "findings",
                    inspection=inspection,
                    vehicle=vehicle,
                    component=component,
                    day=day,
                )


def _add_rules(building, components, rules):
    for rule, places in rules:
        row = building.add("rules", **_rule_row(building, rule))
        for name in places:
            building.add("items", component=components[name], rule=row)


def _rule_row(building, rule):
    wear = rule.get("wear") or {}
    lay_up = rule["lay_up"]
    distance = rule.get("distance_km")
    return {
        "name": rule["name"],
        "kind": rule["kind"],
        "source": rule["source"],
        "task": columns.TASKS.index(rule["task"]),
        "laid_up_only": rule["applies"] == "laid_up",
        "months": rule.get("months") or -1,
        "distance": -1 if distance is None else tenths_of_mm(distance),
        "factors": [int(lay_up["factors"][grade] * 100) for grade in columns.GRADES],
        "standing_per_month": tenths_of_mm(lay_up["km_per_month"]),
        "first_use_months": rule.get("before_use_after_months") or -1,
        "counts_shelf_age": rule.get("counts_shelf_age", False),
        "quantity": building.quantity(wear["quantity"]) if wear else -1,
        "wear_quantity": wear.get("quantity", ""),
        "wear_unit": wear.get("unit", ""),
        "wear_new": _or_nan(wear.get("new")),
        "wear_minimum": _or_nan(wear.get("minimum")),
        "wear_maximum": _or_nan(wear.get("maximum")),
        "against_aged_days": wear.get("against") == "aged_days",
        "warn_days": rule["warn_days"],
        "warn_distance": tenths_of_mm(rule["warn_distance_km"]),
        "criticality": columns.CRITICALITIES.index(rule["criticality"]),
    }


def _or_nan(value):
    return np.nan if value is None else float(value)


def items_by_car(fleet, answer):
    """The answer as the reference words it: one list of items for each car."""
    cars = [[] for _ in fleet.batch.vehicles.odometer_unit]
    for row in range(answer.row.size):
        cars[answer.vehicle[row]].append(_item(fleet, answer, row))
    return cars


def _item(fleet, answer, row):
    component = answer.component[row]
    kind, position = fleet.places[component] if component >= 0 else (INSPECTION, "")
    comes_from_rule = answer.origin[row] == 0
    rule = fleet.batch.items.rule[answer.row[row]] if comes_from_rule else -1
    dated = [
        {"criterion": columns.CRITERIA[number], "due_on": _iso(answer.days[row, number])}
        for number in np.flatnonzero(answer.has_criterion[row])
    ]
    no_record = columns.STATUSES[answer.status[row]] == "no_record"
    return {
        "component": kind,
        "position": position,
        "rule": fleet.rule_names[rule] if comes_from_rule else "",
        "status": columns.STATUSES[answer.status[row]],
        "due_on": _iso(answer.due[row]),
        "due_at_odometer": None if answer.shown[row] < 0 else answer.shown[row] / 10,
        "governed_by": columns.CRITERIA[answer.governed_by[row]],
        "earliest_on": _iso(answer.earliest[row]),
        "latest_on": _iso(answer.latest[row]),
        "criteria": [] if no_record else dated,
    }


def _iso(day):
    return None if day == NEVER else iso(int(day) + EPOCH)
