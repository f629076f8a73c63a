"""One car under its lock, and what is recorded of it, as the checks want it."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from typing import Any
from uuid import UUID

from maintenance.engine.reading_order import Odometer, Shown
from maintenance.models import (
    Component,
    Departure,
    Inspection,
    LayUp,
    OdometerChange,
    OdometerReading,
    ServiceEvent,
    Vehicle,
)
from maintenance.models.base import Evidence
from maintenance.queries.departures import departures_of
from maintenance.queries.moves import linked_cars
from maintenance.services import as_drafts
from maintenance.services.checks.cars import Car
from maintenance.services.checks.odometer import (
    shown_by_change,
    shown_by_event,
    shown_by_inspection,
    shown_by_reading,
)
from maintenance.services.checks.readings import contradiction_problems
from maintenance.services.drafts import LayUpDraft, Place
from maintenance.services.refusals import Problem, refuse_if_any

_LOCKED_AT_A_TIME = 500


def locked(
    vehicle: Vehicle, *, even_closed: bool = False, and_others: Iterable[Vehicle] = ()
) -> Vehicle:
    """Read a car anew and lock its row until the transaction ends.

    Everything that hangs on one car is written under this lock, so that two writers cannot both
    find their records in order and together contradict each other. Cars that exchanged parts with
    it are recomputed with it and so are locked too, with `and_others` to which a part goes now;
    always in one order, or two writers would wait for each other. Refused for a car that has left
    the collection, except where `even_closed`; `Vehicle.DoesNotExist` for one removed meanwhile.
    """
    others = list(and_others)
    cars = {car.pk: car for car in locked_with_linked([vehicle, *others])}
    if any(car.pk not in cars for car in (vehicle, *others)):
        raise Vehicle.DoesNotExist
    if not even_closed:
        for car in (vehicle, *others):
            refuse_if_any(closed_problems(cars[car.pk]))
    return cars[vehicle.pk]


def all_locked(vehicles: Iterable[Vehicle]) -> list[Vehicle]:
    """Lock the rows of some cars, as `locked` does one, and return them as they are now.

    By identifier: two writers of the same cars, each in its own order, would wait for each other.
    A car removed meanwhile is left out. Two queries: of a lock that reads the collection with it a
    car would be left out that went to another collection while the lock was waited for.
    """
    rows = Vehicle.objects.filter(pk__in={car.pk for car in vehicles}).order_by("pk")
    return list(rows.select_for_update(no_key=True).prefetch_related("collection"))


def locked_with_linked(vehicles: Iterable[Vehicle]) -> list[Vehicle]:
    """Lock some cars and those that exchanged parts with them, all in one order."""
    cars = list(vehicles)
    return all_locked([*cars, *linked_cars(cars)])


def lock_all(cars: Iterable[UUID]) -> None:
    """Lock the rows of any number of cars in the order of `all_locked`, holding none in memory.

    One query for every five hundred.
    """
    in_order = sorted(cars)
    for start in range(0, len(in_order), _LOCKED_AT_A_TIME):
        rows = Vehicle.objects.filter(pk__in=in_order[start : start + _LOCKED_AT_A_TIME])
        list(rows.select_for_update(no_key=True).order_by("pk").values_list("pk"))


def closed_problems(*vehicles: Vehicle) -> Iterator[Problem]:
    """Tell of each car whose record is closed. One query."""
    gone = departures_of(car.pk for car in vehicles)
    for car in vehicles:
        if car.pk in gone:
            yield closed_problem(car, gone[car.pk])


def closed_problem(vehicle: Vehicle, gone: Departure) -> Problem:
    """Say that the record of a car is closed by its departure."""
    return Problem(
        "",
        f"{vehicle.registration} has left the collection ({gone}) and its record is closed; "
        "if it is back, or never left, withdraw its departure first",
    )


def components_of(vehicle: Vehicle) -> dict[Place, Component]:
    """Return a car's components by their place, each with its assembly."""
    return components_by_car([vehicle])[vehicle.pk]


def components_by_car(vehicles: Iterable[Vehicle]) -> defaultdict[UUID, dict[Place, Component]]:
    """Return the components of some cars, by car and place. One query."""
    cars = {car.pk: car for car in vehicles}
    rows = Component.objects.filter(vehicle__in=list(cars)).select_related("assembly")
    found: defaultdict[UUID, dict[Place, Component]] = defaultdict(dict)
    for row in rows:
        # Asked of each component to which a part goes, it would be a query each time.
        row.vehicle = cars[row.vehicle_id]
        found[row.vehicle_id][Place(row.kind, row.position)] = row
    return found


def car_of(
    vehicle: Vehicle,
    components: dict[Place, Component] | None = None,
    others: Iterable[Vehicle] = (),
) -> Car:
    """Return what the checks need to know of a car, and of others to which its parts go."""
    cars = {other.registration: car_of(other) for other in others}
    found = components_of(vehicle) if components is None else components
    return Car(
        registration=vehicle.registration,
        odometer_unit=vehicle.odometer_unit,
        odometer_digits=vehicle.odometer_digits,
        built_on=vehicle.built_on,
        first_registered_on=vehicle.first_registered_on,
        components={
            place: as_drafts.place_of(row.assembly) if row.assembly else None
            for place, row in found.items()
        },
        other_car=cars.get,
    )


def readings_of(vehicle: Vehicle, *, without: Evidence | None = None) -> list[Shown]:
    """Return every current odometer reading of a car, those of one record left out."""
    return readings_by_car([vehicle], without=without)[vehicle.pk]


def readings_by_car(
    vehicles: Iterable[Vehicle], *, without: Evidence | None = None
) -> defaultdict[UUID, list[Shown]]:
    """Return every current odometer reading of some cars, by car. Four queries."""
    standing = {"vehicle__in": list(vehicles), "current": True, "withdrawn": False}
    left_out = [] if without is None else [without.pk]
    found: defaultdict[UUID, list[Shown]] = defaultdict(list)
    for model, shown_by in _SHOWING:
        for row in model._default_manager.filter(**standing).exclude(pk__in=left_out):
            found[row.vehicle_id] += shown_by(row)
    return found


_SHOWING: tuple[tuple[type[Evidence], Callable[[Any], list[Shown]]], ...] = (
    (OdometerReading, lambda row: shown_by_reading(as_drafts.reading_draft(row))),
    (OdometerChange, lambda row: shown_by_change(as_drafts.change_draft(row))),
    (ServiceEvent, lambda row: shown_by_event(as_drafts.event_draft(row, entries=()))),
    (Inspection, lambda row: shown_by_inspection(as_drafts.inspection_draft(row, findings=()))),
)
"""Which records tell what the odometer showed, and how."""


def reading_conflicts(
    vehicle: Vehicle, new: Iterable[Shown], *, instead_of: Evidence | None = None
) -> list[Problem]:
    """Tell what contradicts itself once `new` stands beside the readings there are.

    `instead_of` is a record that the new readings replace; what was already contradictory with
    it in place is not held against them.
    """
    odometer = Odometer(vehicle.odometer_unit, vehicle.odometer_digits)
    return contradiction_problems(
        before=readings_of(vehicle),
        after=[*readings_of(vehicle, without=instead_of), *new],
        odometer=odometer,
    )


def lay_ups_of(
    vehicle: Vehicle, *, without: Evidence | None = None
) -> list[tuple[str, LayUpDraft]]:
    """Return the current lay-ups of a car as the overlap check wants them, one left out."""
    rows = LayUp.objects.filter(vehicle=vehicle, current=True, withdrawn=False)
    left_out = [] if without is None else [without.pk]
    return [("", as_drafts.lay_up_draft(row)) for row in rows.exclude(pk__in=left_out)]
