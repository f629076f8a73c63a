"""Some cars that are written together, as they stand under their locks."""

import dataclasses
from collections.abc import Collection, Iterable, Iterator
from uuid import UUID

from django.db.models import QuerySet

from maintenance.models import Component, Vehicle
from maintenance.queries.departures import departures_of
from maintenance.services.cars import car_of, closed_problem, components_by_car
from maintenance.services.checks.cars import Car
from maintenance.services.drafts import Place
from maintenance.services.history_file.stored import StoredCar, stored_cars


class KnownCars:
    """What the checks and the rows need to know of cars, and of those to which their parts go.

    Only of such as the importer may record on: to look for another finds nothing.
    """

    def __init__(self, cars: QuerySet[Vehicle], wanted: Collection[UUID]) -> None:
        self._wanted = wanted
        rows = cars.filter(pk__in=wanted).select_related("collection").order_by("pk")
        self.vehicles = {car.pk: car for car in rows}
        self.components = components_by_car(self.vehicles.values())
        self.closed = {
            self.vehicles[pk].registration: closed_problem(self.vehicles[pk], gone).message
            for pk, gone in departures_of(self.vehicles).items()
        }
        self._facts = {
            car.registration: car_of(car, self.components[pk]) for pk, car in self.vehicles.items()
        }

    def facts(self, vehicle: Vehicle) -> Car:
        """Return what the checks need to know of one car."""
        return dataclasses.replace(self._facts[vehicle.registration], other_car=self._facts.get)

    def stored(self, cars: Collection[UUID]) -> Iterator[StoredCar]:
        """Yield those of some cars that are here, with all that is recorded of them."""
        yield from stored_cars(car for pk, car in self.vehicles.items() if pk in cars)

    def missing(self, cars: Collection[UUID]) -> list[UUID]:
        """Return those of some cars that were wanted and are not here."""
        return [pk for pk in self._wanted if pk in cars and pk not in self.vehicles]

    def places_on(self, registrations: Iterable[str]) -> dict[tuple[str, Place], Component]:
        """Return the components of the cars of some registrations, by registration and place."""
        wanted = set(registrations)
        return {
            (car.registration, place): component
            for pk, car in self.vehicles.items()
            if car.registration in wanted
            for place, component in self.components[pk].items()
        }
