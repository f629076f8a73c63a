import datetime
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from maintenance.models import DueItem
from maintenance.services.pictures import plot_of, years_of
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Refused
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    InspectionFactory,
    LayUpFactory,
    MeasurementFactory,
    OdometerReadingFactory,
    ServiceEventFactory,
    SpecificationLineFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2026, 6, 1)


@pytest.fixture
def car():
    car = VehicleFactory(inspection_regime="", odometer_digits=6)
    for on, value in ((datetime.date(2025, 1, 1), 40_000), (TODAY, 51_000)):
        OdometerReadingFactory(vehicle=car, on=on, value=Decimal(value))
    return car


def fitted(car, kind, on=datetime.date(2025, 1, 1), **measured):
    component = ComponentFactory(vehicle=car, kind=kind)
    EntryFactory(event=ServiceEventFactory(vehicle=car, on=on), component=component)
    for day, value in measured.items():
        event = ServiceEventFactory(
            vehicle=car, on=datetime.date.fromisoformat(day[1:].replace("_", "-"))
        )
        entry = EntryFactory(event=event, component=component, action="measure")
        MeasurementFactory(
            entry=entry, quantity="lining_thickness", value=Decimal(value), unit="mm"
        )
    recompute_vehicles(vehicles=[car], on=TODAY)


def item(kind, task="renew"):
    return DueItem.objects.get(kind=kind, task=task)


def test_a_picture_of_worn_pads_names_every_measurement_and_the_limit(car):
    fitted(car, "brake-pads", _2025_06_01="9.1", _2025_12_01="7.9", _2026_05_01="6.2")
    svg = plot_of(due_item=item("brake-pads"), of="wear", on=TODAY)
    assert "lining thickness: 9.1, 7.9, 6.2 mm; limit" in svg
    assert "80 % band" in svg


def test_a_picture_is_the_same_bytes_each_time(car):
    fitted(car, "brake-pads", _2025_06_01="9.1")
    one, other = (plot_of(due_item=item("brake-pads"), of=None, on=TODAY) for _ in range(2))
    assert one == other
    assert ElementTree.fromstring(one).tag.endswith("svg")


def test_fluid_of_a_known_grade_is_drawn_against_time(car):
    SpecificationLineFactory(vehicle=car, item="brake fluid grade", value="DOT 4")
    fitted(car, "brake-fluid")
    svg = plot_of(due_item=item("brake-fluid"), of=None, on=TODAY)
    assert "230 °C on 2025-01-01" in svg
    assert "wet minimum 155 °C" in svg


def test_what_was_never_measured_has_no_picture(car):
    fitted(car, "brake-pads")
    with pytest.raises(Refused, match="no picture"):
        plot_of(due_item=item("brake-pads"), of=None, on=TODAY)


def test_a_cars_years_count_its_lay_ups_services_and_inspections(car):
    LayUpFactory(vehicle=car)
    InspectionFactory(vehicle=car)
    fitted(car, "coolant")
    svg = years_of(vehicle=car, on=TODAY)
    assert "1 lay-ups, 1 services, 1 inspections passed and 0 failed" in svg
    assert "laid up, dry" in svg


def test_a_car_without_records_has_no_years_to_draw(car):
    with pytest.raises(Refused, match="nothing is on record"):
        years_of(vehicle=car, on=TODAY)
