"""Parts of one car, fitted and measured in a line each, and what is estimated of them."""

import datetime
from decimal import Decimal

from maintenance.services.working import workings_of_component
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    MeasurementFactory,
    ServiceEventFactory,
    SpecificationLineFactory,
)

TODAY = datetime.date(2026, 6, 1)
A_YEAR_AGO = datetime.date(2025, 6, 1)


def fitted(car, kind, on=A_YEAR_AGO, **entry):
    component = ComponentFactory(vehicle=car, kind=kind)
    EntryFactory(event=ServiceEventFactory(vehicle=car, on=on), component=component, **entry)
    return component


def measured(component, quantity, value, unit, on):
    event = ServiceEventFactory(vehicle=component.vehicle, on=on)
    entry = EntryFactory(event=event, component=component, action="measure")
    MeasurementFactory(entry=entry, quantity=quantity, value=Decimal(str(value)), unit=unit)


def specified(car, item, value):
    SpecificationLineFactory(vehicle=car, item=item, value=value)


def estimates(car, kind):
    (working, *_) = workings_of_component(vehicle=car, kind=kind, position=None, on=TODAY)
    return {estimate["quantity"]: estimate for estimate in working["condition"]}
