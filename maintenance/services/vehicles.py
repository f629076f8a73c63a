"""Take cars into a collection, change what is said of them, take them out again.

Every verb takes one transaction; a change is made under the lock of the car.
"""

import dataclasses
import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.db import transaction

from maintenance.engine.reading_order import Odometer, Shown
from maintenance.engine.stated_days import StatedDay
from maintenance.models import (
    Collection,
    DueItem,
    Inspection,
    LayUp,
    Member,
    OdometerChange,
    OdometerReading,
    ServiceEvent,
    Vehicle,
)
from maintenance.queries.marks import with_marks
from maintenance.services.as_drafts import vehicle_draft
from maintenance.services.cars import locked, readings_of
from maintenance.services.checks.cars import day_problems, one_day
from maintenance.services.checks.readings import contradiction_problems
from maintenance.services.checks.vehicles import car_of_draft, vehicle_problems, vehicle_warnings
from maintenance.services.drafts import VehicleDraft
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.versions import locked_at


@transaction.atomic
def add_vehicle(
    *,
    collection: Collection,
    draft: VehicleDraft,
    today: datetime.date,
    keeper: Member | None = None,
) -> tuple[Vehicle, list[str]]:
    """Take a car into a collection; returns it with what is odd about its description.

    Refused, with every field at fault: a registration that the collection has already, a day
    after today, a first registration before the car was built, an unknown unit or regime, a
    keeper who is no member.
    """
    vehicle = Vehicle(collection=collection, keeper=keeper, **dataclasses.asdict(draft))
    refuse_if_any(description_problems(vehicle, today=today))
    vehicle.save(force_insert=True)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return vehicle, vehicle_warnings(draft)


@transaction.atomic
def change_vehicle(
    *, vehicle: Vehicle, version: int, changes: Mapping[str, Any], today: datetime.date
) -> tuple[Vehicle, list[str]]:
    """Change a car's description or its keeper; returns it with what is odd about it now.

    `changes` holds fields of `VehicleDraft`, and `keeper`. Refused as in `add_vehicle`, and where
    what is recorded of the car could not be true any more: a record before it was built, a reading
    that the odometer could not have shown or that would be read in another unit. Raises `Outdated`
    for another version.
    """
    locked(vehicle)
    vehicle = locked_at(vehicle, version)
    before = vehicle_draft(vehicle)
    for name, value in changes.items():
        setattr(vehicle, name, value)
    refuse_if_any(description_problems(vehicle, before=before, today=today))
    vehicle.save(update_fields=[*changes, "version"])
    recompute_vehicles(vehicles=[vehicle], on=today)
    return vehicle, vehicle_warnings(vehicle_draft(vehicle))


@transaction.atomic
def remove_vehicle(*, vehicle: Vehicle, version: int) -> None:
    """Take out a car of which nothing is recorded; refused once anything hangs on it."""
    locked(vehicle, even_closed=True)
    vehicle = locked_at(vehicle, version)
    hanging = [
        relation.related_model._meta.verbose_name_plural
        for relation in Vehicle._meta.related_objects
        if relation.related_model is not DueItem
        and relation.related_model._default_manager.filter(
            **{relation.field.name: vehicle}
        ).exists()
    ]
    if hanging:
        text = (
            f"{vehicle.registration} has {', '.join(map(str, hanging))}; a car with a history stays"
        )
        raise Refused([Problem("", text)])
    DueItem.objects.filter(vehicle=vehicle).delete()
    vehicle.delete()


def description_problems(
    vehicle: Vehicle, *, before: VehicleDraft | None = None, today: datetime.date
) -> list[Problem]:
    """Tell what is wrong with a row about to be saved, by itself and beside the others.

    `before` is what is said of the car so far; of a change that is sound by itself it is told
    what on record it would make untrue. To be called under the lock of the car.
    """
    draft = vehicle_draft(vehicle)
    found = [*vehicle_problems(draft, today), *_place_problems(vehicle), *_keeper_problems(vehicle)]
    if found or before is None:
        return found
    return [*_history_problems(vehicle, draft, today), *_odometer_problems(vehicle, before)]


def _place_problems(vehicle: Vehicle) -> Iterator[Problem]:
    cars = Vehicle.objects.filter(collection=vehicle.collection_id).exclude(pk=vehicle.pk)
    other = with_marks(cars, [vehicle.registration]).first()
    if other is not None:
        yield Problem(
            "/registration",
            f"the collection has a car {other.registration!r} already; change that one, or "
            "check the mark",
        )


def _keeper_problems(vehicle: Vehicle) -> Iterator[Problem]:
    if vehicle.keeper is not None and vehicle.keeper.collection_id != vehicle.collection_id:
        yield Problem("/keeper", "is no member of the car's collection; add the member first")


def _history_problems(
    vehicle: Vehicle, draft: VehicleDraft, today: datetime.date
) -> Iterator[Problem]:
    """Refuse a birth that would come after something recorded; the earliest record tells."""
    car = car_of_draft(draft, {})
    pointer = "/built_on" if draft.built_on else "/first_registered_on"
    for record, day in _earliest_records(vehicle):
        for problem in day_problems(pointer, day, car, today):
            yield Problem(pointer, f"the {record} of {problem.message}")


def _earliest_records(vehicle: Vehicle) -> Iterator[tuple[str, StatedDay]]:
    standing = {"vehicle": vehicle, "current": True, "withdrawn": False}
    for model, column in (
        (OdometerReading, "on"),
        (OdometerChange, "on"),
        (LayUp, "from_on"),
        (ServiceEvent, "until"),
        (Inspection, "on"),
    ):
        day = (
            model._default_manager.filter(**standing)
            .order_by(column)
            .values_list(column, flat=True)
            .first()
        )
        if day is not None:
            yield str(model._meta.verbose_name), one_day(day)


def _odometer_problems(vehicle: Vehicle, before: VehicleDraft) -> Iterator[Problem]:
    """Refuse an odometer that could not have shown what is recorded, or not in that unit."""
    old = Odometer(before.odometer_unit, before.odometer_digits)
    new = Odometer(vehicle.odometer_unit, vehicle.odometer_digits)
    if old == new:
        return
    readings = readings_of(vehicle)
    if readings and old.unit != new.unit:
        yield Problem("/odometer_unit", _unit_stays(old.unit, new.unit, readings))
        return
    for reading in readings:
        if reading.value >= new.turn:
            yield Problem(
                "/odometer_digits",
                f"an odometer of {new.digits} digits cannot show {reading.value} "
                f"({reading.record})",
            )
            return
    for problem in contradiction_problems(before=[], after=readings, odometer=new):
        yield Problem("/odometer_digits", problem.message)


def _unit_stays(old: str, new: str, readings: Sequence[Shown]) -> str:
    more = f" and {len(readings) - 1} more" if len(readings) > 1 else ""
    return (
        f"stays {old} while figures of the odometer are on record ({readings[0].record}{more}): "
        f"each would be read as {new}; where the instrument was changed, record an odometer "
        f"change and go on in {old}; where the unit was wrong from the start, withdraw the "
        "odometer readings and changes, correct service events and inspections to leave theirs "
        "out, change the unit, and then record the figures again"
    )
