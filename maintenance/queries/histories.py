"""Cars' records as columns for the engine.

Reads every table once for all the cars asked about, so the number of queries does not grow with
the number of cars. Only current records count; what was corrected or withdrawn is left out.
"""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.db.models import Model, QuerySet

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rules import IntervalRule as Rule
from maintenance.engine.columns import (
    ACTIONS,
    GRADES,
    Batch,
    CarriedOver,
    Components,
    Entries,
    Findings,
    Inspections,
    Items,
    LayUps,
    Measurements,
    Vehicles,
)
from maintenance.engine.days import NO_DAY, to_day
from maintenance.engine.units import TENTH_MM_PER_KM, TENTH_MM_PER_MILE
from maintenance.models import (
    Arrival,
    Component,
    Entry,
    Finding,
    Inspection,
    IntervalRule,
    LayUp,
    Measurement,
    Paper,
    ServiceEvent,
    Vehicle,
)
from maintenance.models import (
    CarriedOver as CarriedOverRow,
)
from maintenance.queries.climates import MeasuredClimates
from maintenance.queries.column_steps import current, day, ints
from maintenance.queries.moves import first_recorded, linked_cars, parts_from_strangers
from maintenance.queries.paper_columns import paper_columns
from maintenance.queries.reading_columns import reading_columns
from maintenance.queries.rule_choice import Place, RuleChoice
from maintenance.queries.rule_columns import regime_columns, regime_order, rule_columns
from maintenance.queries.stores import Stay, StoreColumns, store_columns

UNIT = {"km": TENTH_MM_PER_KM, "mi": TENTH_MM_PER_MILE}
"""Tenths of a millimetre in each odometer unit."""


@dataclass(frozen=True)
class History:
    """A batch for the engine, and which row of the database each of its rows is.

    After the cars asked about come those that parts of theirs were on, with their components: as
    far as these bear on the parts, and asked nothing. `asked` is how many come first.
    """

    batch: Batch
    vehicles: list[Vehicle]
    components: list[Component]
    entries: list[uuid.UUID]
    findings: list[Finding]
    papers: list[Paper]
    asked: int

    @property
    def own_components(self) -> list[Component]:
        """Return the components of the cars asked about, in the order of their rows."""
        own = {car.pk for car in self.vehicles[: self.asked]}
        return [component for component in self.components if component.vehicle_id in own]


def histories(vehicles: Iterable[Vehicle]) -> History:
    """Return all that is on record about some cars of one collection.

    Costs eighteen queries, whatever the number of cars; one more where parts came from others.
    """
    asked = list(vehicles)
    cars = [*asked, *linked_cars(asked)]
    place = {car.id: number for number, car in enumerate(cars)}
    strangers = parts_from_strangers(cars)
    components = [*_components(asked, cars), *(each.from_component for each in strangers)]
    row = {component.id: number for number, component in enumerate(components)}
    entries = [*_recorded(cars), *map(_arrived, strangers)]
    entries.sort(key=lambda entry: entry[2])
    entry_row = {entry[0]: number for number, entry in enumerate(entries)}
    items, chosen = _items(asked, components, row)
    lay_ups, stores = _lay_ups(cars, place, chosen)
    inspections = _inspections(asked)
    inspected = {inspection[0]: number for number, inspection in enumerate(inspections)}
    findings, papers = _findings(asked), list(Paper.objects.filter(vehicle__in=asked))
    return History(
        Batch(
            vehicles=_vehicles(cars, len(asked)),
            lay_ups=lay_ups,
            readings=reading_columns(cars, place),
            components=_places(components, place, row, strangers),
            entries=_entries(entries, row),
            carried_over=_carried_over(cars, entry_row, row),
            measurements=_measurements(cars, entry_row, row),
            rules=rule_columns(chosen, stores.factors),
            items=items,
            inspections=_inspection_columns(inspections, place),
            findings=_finding_columns(findings, inspected, place, row),
            papers=paper_columns(papers, place),
            regimes=regime_columns(),
            stores=stores.stores,
        ),
        cars,
        components,
        [entry[0] for entry in entries],
        findings,
        papers,
        len(asked),
    )


def _components(asked: Sequence[Vehicle], cars: Sequence[Vehicle]) -> list[Component]:
    """Return the components of all cars, those of the cars asked about first."""
    own = {car.id for car in asked}
    found = Component.objects.filter(vehicle__in=cars).order_by("kind", "position")
    return sorted(found, key=lambda component: component.vehicle_id not in own)


def _places(
    components: Sequence[Component],
    place: dict[uuid.UUID, int],
    row: dict[uuid.UUID, int],
    strangers: Sequence[Arrival],
) -> Components:
    """Return components as columns.

    Where a part was on a car of another collection counts as a place of the car it came to, without
    record: nothing else would tell that it is there.
    """
    owner = {each.from_component_id: each.vehicle_id for each in strangers}
    return Components(
        ints(place[owner.get(each.id, each.vehicle_id)] for each in components),
        ints(
            -1 if each.assembly_id is None or each.id in owner else row[each.assembly_id]
            for each in components
        ),
        ints(
            -1 if each.id in owner or not each.storage else GRADES.index(each.storage)
            for each in components
        ),
    )


def _finding_columns(
    findings: Sequence[Finding],
    inspected: dict[uuid.UUID, int],
    place: dict[uuid.UUID, int],
    row: dict[uuid.UUID, int],
) -> Findings:
    return Findings(
        ints(inspected[finding.inspection_id] for finding in findings),
        ints(place[finding.inspection.vehicle_id] for finding in findings),
        ints(row[finding.component_id] for finding in findings),
        ints(to_day(finding.inspection.on) for finding in findings),
    )


def _recorded(cars: Sequence[Vehicle]) -> list[Any]:
    """Return the entries of all cars in the order in which they happened; two queries."""
    first = first_recorded(cars)
    rows = Entry.objects.filter(event__in=current(ServiceEvent, cars)).values_list(
        *("id", "component", "event__on", "action", "manufactured_on", "event__until"),
        *("event_id", "sequence", "moved_to"),
    )
    return sorted(rows, key=lambda row: (row[2], first.get(row[6], row[6]), row[7]))


def _arrived(arrival: Arrival) -> Any:
    """Return as an entry that a part came from a car of another collection."""
    there, here = arrival.from_component_id, arrival.component_id
    return (arrival.move_id, there, arrival.on, "move", None, arrival.on, arrival.pk, 0, here)


def _vehicles(cars: Sequence[Vehicle], asked: int) -> Vehicles:
    regimes = {code: number for number, code in enumerate(regime_order())}
    return Vehicles(
        built=ints(day(car.built_on) for car in cars),
        first_registered=ints(day(car.first_registered_on) for car in cars),
        unchanged=np.array([car.substantially_changed is False for car in cars], dtype=bool),
        odometer_unit=ints(UNIT[car.odometer_unit] for car in cars),
        odometer_digits=ints(car.odometer_digits for car in cars),
        expected_annual=ints(
            -1 if car.expected_annual_distance is None else car.expected_annual_distance
            for car in cars
        ),
        # A car that only lent parts is not asked about, nor inspected here.
        regime=ints(
            regimes.get(car.inspection_regime, -1) if number < asked else -1
            for number, car in enumerate(cars)
        ),
        season_from=ints(car.season_from_month or 0 for car in cars),
        season_to=ints(car.season_to_month or 0 for car in cars),
    )


def _lay_ups(
    cars: Sequence[Vehicle], place: dict[uuid.UUID, int], rules: Sequence[Rule]
) -> tuple[LayUps, StoreColumns]:
    """Return the lay-ups, each with its storage grade or, where it differs, a store of its own."""
    rows = list(
        current(LayUp, cars).values_list(
            "vehicle", "from_on", "to_on", "expected_to", "storage", "preparations"
        )
    )
    climates = MeasuredClimates(cars)
    # A stay in a measured store is a row a month; touching rows are one standing period.
    parts = [
        (row, part) for row in rows for part in climates.of_lay_up(row[0], row[1], row[2], row[4])
    ]
    stays = [Stay(row[4], tuple(row[5]), part.climate) for row, part in parts]
    stores = store_columns(stays, rules)
    return LayUps(
        vehicle=ints(place[row[0]] for row, _ in parts),
        start=ints(part.start for _, part in parts),
        end=ints(int(NO_DAY) if part.end is None else part.end for _, part in parts),
        expected=ints(day(row[3] if part.end is None else None) for row, part in parts),
        grade=ints(stores.number),
    ), stores


def _entries(entries: Sequence[Any], row: dict[uuid.UUID, int]) -> Entries:
    events = {event: number for number, event in enumerate({entry[6]: None for entry in entries})}
    return Entries(
        component=ints(row[entry[1]] for entry in entries),
        day=ints(to_day(entry[2]) for entry in entries),
        order=np.arange(len(entries)),
        action=ints(ACTIONS.index(_action(entry, row)) for entry in entries),
        manufactured=ints(day(entry[4]) for entry in entries),
        last_day=ints(to_day(entry[5]) for entry in entries),
        event=ints(events[entry[6]] for entry in entries),
        moved_to=ints(row.get(entry[8], -1) for entry in entries),
    )


def _action(entry: Any, row: dict[uuid.UUID, int]) -> str:
    """Return what was done; a part that went to a place in another collection is gone."""
    gone = entry[8] is not None and entry[8] not in row
    return "remove" if gone else str(entry[3])


def _of_current_events(model: type[Model], cars: Sequence[Vehicle]) -> QuerySet[Any]:
    return model._default_manager.filter(
        entry__event__vehicle__in=cars,
        entry__event__current=True,
        entry__event__withdrawn=False,
    )


def _carried_over(
    cars: Sequence[Vehicle], entry_row: dict[uuid.UUID, int], row: dict[uuid.UUID, int]
) -> CarriedOver:
    rows = list(_of_current_events(CarriedOverRow, cars).values_list("entry", "component"))
    return CarriedOver(
        ints(entry_row[entry] for entry, _ in rows), ints(row[part] for _, part in rows)
    )


def _measurements(
    cars: Sequence[Vehicle], entry_row: dict[uuid.UUID, int], row: dict[uuid.UUID, int]
) -> Measurements:
    quantities = {slug: number for number, slug in enumerate(sorted(catalogue().quantities))}
    rows = list(
        _of_current_events(Measurement, cars).values_list(
            "entry", "entry__component", "entry__event__on", "quantity", "value"
        )
    )
    return Measurements(
        component=ints(row[component] for _, component, *_ in rows),
        day=ints(to_day(day) for _, _, day, *_ in rows),
        order=ints(entry_row[entry] for entry, *_ in rows),
        quantity=ints(quantities[quantity] for *_, quantity, _ in rows),
        value=np.fromiter((float(value) for *_, value in rows), dtype=np.float64),
    )


def _items(
    cars: Sequence[Vehicle], components: Sequence[Component], row: dict[uuid.UUID, int]
) -> tuple[Items, list[Rule]]:
    by_id = {car.id: car for car in cars}
    choices: dict[uuid.UUID, RuleChoice] = {}
    own_rules = list(
        IntervalRule.objects.filter(collection__in={car.collection_id for car in cars})
    )
    for collection in {car.collection_id for car in cars}:
        choices[collection] = RuleChoice(
            rule for rule in own_rules if rule.collection_id == collection
        )
    chosen: list[Rule] = []
    number: dict[int, int] = {}
    pairs: list[tuple[int, int]] = []
    for component in components:
        car = by_id.get(component.vehicle_id)
        if car is None:
            break
        place = Place(car.id, car.make, car.model, component.kind, component.position)
        for rule in choices[car.collection_id].rules_for(place):
            if id(rule) not in number:
                number[id(rule)] = len(chosen)
                chosen.append(rule)
            pairs.append((row[component.id], number[id(rule)]))
    return (
        Items(ints(component for component, _ in pairs), ints(rule for _, rule in pairs)),
        chosen,
    )


def _inspections(cars: Sequence[Vehicle]) -> list[Any]:
    """Return the inspections of all cars in the order in which they were made."""
    rows = current(Inspection, cars).order_by("on", "id")
    return list(rows.values_list("id", "vehicle", "on", "result", "expires_on"))


def _inspection_columns(rows: Sequence[Any], place: dict[uuid.UUID, int]) -> Inspections:
    return Inspections(
        vehicle=ints(place[row[1]] for row in rows),
        day=ints(to_day(row[2]) for row in rows),
        passed=np.array([row[3] == Inspection.Result.PASS for row in rows], dtype=bool),
        expires=ints(day(row[4]) for row in rows),
    )


def _findings(cars: Sequence[Vehicle]) -> list[Finding]:
    """Return the grave findings of all cars, whatever the result: none may vanish in a pass."""
    grave = (Finding.Category.MAJOR, Finding.Category.DANGEROUS)
    found = Finding.objects.filter(inspection__in=current(Inspection, cars), category__in=grave)
    return list(found.select_related("inspection").order_by("id"))
