"""The database itself refuses to change or delete what was recorded."""

import pytest
from django.db import IntegrityError, connection, transaction

from maintenance import models
from maintenance.models.base import Evidence
from maintenance.services.service_events import record_service_event
from tests.factories import (
    CarriedOverFactory,
    ComponentFactory,
    EntryFactory,
    FindingFactory,
    LayUpFactory,
    MeasurementFactory,
    OdometerChangeFactory,
    OdometerReadingFactory,
    VehicleFactory,
)
from tests.services.asking import entry, event
from tests.unguarded import guarded_tables

#: A row of every table of evidence, and a change that somebody may wish to make to it.
CHANGES = {
    models.OdometerReading: {"value": 12},
    models.OdometerChange: {"new_value": 12},
    models.LayUp: {"storage": "heated"},
    models.ServiceEvent: {"note": "never done"},
    models.Entry: {"action": "inspect"},
    models.CarriedOver: {"component": None},
    models.Measurement: {"value": 9},
    models.Inspection: {"result": "pass"},
    models.Finding: {"category": "minor"},
    models.HistoryLink: {"digest": "0" * 64},
    models.Postponement: {"until": "2030-01-01"},
    models.Departure: {"how": "exported"},
    models.Arrival: {"on": "2020-01-01"},
    models.Attachment: {"name": "another.pdf"},
    models.TextErasure: {"fingerprint": "1" * 64},
}


@pytest.fixture
def history(db, when):
    """One row at least in every table of evidence."""
    car = VehicleFactory()
    for factory in (LayUpFactory, OdometerReadingFactory, OdometerChangeFactory):
        factory(vehicle=car)
    MeasurementFactory(entry__event__vehicle=car)
    CarriedOverFactory(entry__event__vehicle=car, entry__component__kind="ball-joint")
    FindingFactory(inspection__vehicle=car, component__kind="tyre")
    ComponentFactory(vehicle=car, kind="coolant")
    done = record_service_event(vehicle=car, draft=event(entry("coolant")), **when)
    origin = {"vehicle": car, "collection": car.collection, "recorded_at": when["at"]}
    models.Attachment.objects.create(
        **origin, service_event=done, name="invoice.pdf", size=1, sha256="a" * 64
    )
    until = when["today"]
    models.Postponement.objects.create(**origin, item_key="inspection", until=until, why="late")
    moved = EntryFactory(event__vehicle=car, action="move", component__kind="battery")
    models.Arrival.objects.create(
        **origin, on=until, component=moved.component, from_component=moved.component, move=moved
    )
    models.TextErasure.objects.create(
        **origin, table="layup", erased_in=car.pk, field="reason", fingerprint="0" * 64
    )
    models.Departure.objects.create(**origin, on=when["today"], how="sold")
    return car


def test_every_table_of_evidence_is_guarded(db):
    parts = {models.Entry, models.CarriedOver, models.Measurement, models.Finding}
    tables = {*Evidence.__subclasses__(), *parts, models.HistoryLink}
    assert guarded_tables() == {model._meta.db_table for model in tables}
    assert {model._meta.db_table for model in CHANGES} == guarded_tables()


@pytest.mark.parametrize("model", CHANGES)
def test_nothing_recorded_can_be_changed(model, history):
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        model.objects.filter(pk=model.objects.first().pk).update(**CHANGES[model])


@pytest.mark.parametrize("model", CHANGES)
def test_nothing_recorded_can_be_deleted(model, history):
    table, key = model._meta.db_table, model.objects.first().pk
    key = key if connection.vendor == "postgresql" else key.hex
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        connection.cursor().execute(f"DELETE FROM {table} WHERE id = %s", [key])


@pytest.mark.parametrize("model", CHANGES)
def test_nothing_recorded_can_be_put_back_in_force_or_given_another_collection(model, history):
    columns = {"collection": VehicleFactory().collection}
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        model.objects.update(**columns)
    if issubclass(model, Evidence):
        model.objects.update(current=False)
        with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
            model.objects.update(current=True)


def test_a_record_goes_out_of_force_but_says_nothing_else_by_the_way(history):
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        models.LayUp.objects.update(current=False, storage="heated")
    assert models.LayUp.objects.update(current=False) == 1


def test_tables_of_evidence_cannot_be_emptied_or_replaced_in_passing(history):
    if connection.vendor == "postgresql":
        # A table with references still to be checked can't be emptied for that reason alone.
        statement = "SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE maintenance_layup CASCADE"
    else:
        statement = "INSERT OR REPLACE INTO maintenance_layup SELECT * FROM maintenance_layup"
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        connection.cursor().execute(statement)
