"""Say which components a car has, and which belong to which assembly.

Every verb takes one transaction under the lock of the car and recomputes it.
"""

import copy
import datetime
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import transaction

from maintenance.models import CarriedOver, Component, DueItem, Entry, Finding, Vehicle
from maintenance.services.as_drafts import place_of
from maintenance.services.cars import car_of, components_of, locked
from maintenance.services.checks.cars import kind_problems
from maintenance.services.checks.vehicles import component_problems
from maintenance.services.drafts import ComponentDraft, Place
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.versions import locked_at


@transaction.atomic
def add_component(
    *,
    vehicle: Vehicle,
    kind: str,
    position: str = "",
    assembly: Component | None = None,
    storage: str = "",
    today: datetime.date,
) -> Component:
    """Add a component to a car, or with a storage grade a shelf for a part of it.

    Refused: an unknown kind, a position of a kind that the car has already, an assembly of
    another car, and a shelf that belongs to an assembly.
    """
    vehicle = locked(vehicle)
    component = Component(
        vehicle=vehicle,
        collection_id=vehicle.collection_id,
        kind=kind,
        position=position,
        assembly=assembly,
        storage=storage,
    )
    refuse_if_any(description_problems(component))
    component.save(force_insert=True)
    recompute_vehicles(vehicles=[vehicle], on=today)
    return component


@transaction.atomic
def change_component(
    *, component: Component, version: int, changes: Mapping[str, Any], today: datetime.date
) -> Component:
    """Change a component's position, assembly or storage grade; its kind stays, for its history
    is of that kind.

    Refused as in `add_component`, where it would become a part of itself, and where a place on
    the car would become a shelf or the other way round. Raises `Outdated` for another version.
    """
    vehicle = locked(component.vehicle)
    component = locked_at(component, version)
    before = copy.copy(component)
    for name in ("kind", "position", "assembly", "storage"):
        setattr(component, name, changes.get(name, getattr(component, name)))
    refuse_if_any(description_problems(component, before=before))
    component.save(update_fields=["position", "assembly", "storage", "version"])
    recompute_vehicles(vehicles=[vehicle], on=today)
    return component


@transaction.atomic
def remove_component(*, component: Component, version: int, today: datetime.date) -> None:
    """Take out a component of which nothing is recorded; refused once anything hangs on it."""
    vehicle = locked(component.vehicle)
    component = locked_at(component, version)
    hanging = {
        "entries": Entry.objects.filter(component=component),
        "findings": Finding.objects.filter(component=component),
        "renewals that carried it over": CarriedOver.objects.filter(component=component),
        "moves of parts to it": Entry.objects.filter(moved_to=component),
        "parts of its own": Component.objects.filter(assembly=component),
    }
    found = [what for what, rows in hanging.items() if rows.exists()]
    if found:
        text = f"{component} has {', '.join(found)}; record its removal in a service event instead"
        raise Refused([Problem("", text)])
    DueItem.objects.filter(component=component).delete()
    component.delete()
    recompute_vehicles(vehicles=[vehicle], on=today)


def description_problems(
    component: Component, *, before: Component | None = None
) -> Iterator[Problem]:
    """Tell what is wrong with a row about to be saved, by itself and beside the others.

    `before` is the row as it is stored. To be called under the lock of the car.
    """
    if before is not None and component.kind != before.kind:
        text = "stays what it is; remove the component and add one of the other kind"
        yield Problem("/kind", text)
        return
    if before is not None and bool(component.storage) != bool(before.storage):
        text = "a place on the car and a shelf stay what they are; add a component of the other"
        yield Problem("/storage", text)
        return
    yield from kind_problems("/kind", component.kind)
    others = components_of(component.vehicle)
    place = place_of(component)
    if place in others and others[place].pk != component.pk:
        yield Problem("/position", f"the car has a component {str(place)!r} already")
        return
    if component.assembly is None:
        assembly = None
    elif component.assembly.vehicle_id != component.vehicle_id:
        yield Problem("/assembly", "is a component of another car; name one of this car")
        return
    else:
        assembly = place_of(component.assembly)
    kept = {where: row for where, row in others.items() if row.pk != component.pk}
    yield from component_problems(
        ComponentDraft(place=place, assembly=assembly, storage=component.storage),
        car_of(component.vehicle, {**kept, Place(*place): component}),
    )
