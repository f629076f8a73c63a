import pytest

from maintenance.models import Component
from maintenance.services.components import add_component, change_component, remove_component
from tests.factories import ComponentFactory, DueItemFactory, EntryFactory, VehicleFactory
from tests.services.asking import refused

pytestmark = pytest.mark.django_db


def test_a_component_is_added_with_its_assembly(today):
    shaft = ComponentFactory(kind="half-shaft", position="left")
    boot = add_component(
        vehicle=shaft.vehicle,
        kind="half-shaft-boot",
        position="left outer",
        assembly=shaft,
        today=today,
    )
    assert (boot.assembly, boot.collection) == (shaft, shaft.collection)


def test_an_unknown_kind_is_refused_with_the_nearest_one(today):
    problems = refused(add_component, vehicle=VehicleFactory(), kind="brake-pad", today=today)
    assert "'brake-pads'" in problems["/kind"]


def test_a_position_of_a_kind_stands_once_on_a_car(today):
    tyre = ComponentFactory(kind="tyre", position="front left")
    problems = refused(
        add_component, vehicle=tyre.vehicle, kind="tyre", position="front left", today=today
    )
    assert set(problems) == {"/position"}


def test_an_assembly_of_another_car_is_refused(today):
    shaft = ComponentFactory(kind="half-shaft")
    problems = refused(
        add_component, vehicle=VehicleFactory(), kind="half-shaft-boot", assembly=shaft, today=today
    )
    assert "another car" in problems["/assembly"]


def test_a_component_cannot_become_a_part_of_its_own_part(today):
    arm = ComponentFactory(kind="suspension-arm")
    joint = ComponentFactory(vehicle=arm.vehicle, kind="ball-joint", assembly=arm)
    boot = ComponentFactory(vehicle=arm.vehicle, kind="ball-joint-boot", assembly=joint)
    problems = refused(
        change_component, component=arm, version=1, changes={"assembly": boot}, today=today
    )
    assert "a part of itself" in problems["/assembly"]


def test_a_component_is_moved_into_an_assembly(today):
    arm = ComponentFactory(kind="suspension-arm")
    joint = ComponentFactory(vehicle=arm.vehicle, kind="ball-joint")
    change_component(component=joint, version=1, changes={"assembly": arm}, today=today)
    joint.refresh_from_db()
    assert (joint.assembly, joint.version) == (arm, 2)


def test_a_component_stays_of_its_kind(today):
    tyre = ComponentFactory(kind="tyre")
    problems = refused(
        change_component, component=tyre, version=1, changes={"kind": "wheel"}, today=today
    )
    assert set(problems) == {"/kind"}


def test_a_component_with_a_history_stays(today):
    component = EntryFactory().component
    problems = refused(remove_component, component=component, version=1, today=today)
    assert "entries" in problems[""]


def test_a_component_of_which_nothing_is_recorded_goes_with_its_due_items(today):
    component = DueItemFactory().component
    remove_component(component=component, version=1, today=today)
    assert not Component.objects.exists()
