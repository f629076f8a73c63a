"""Callers with tokens, two clubs that must not see each other, and a clock that stands still."""

import datetime
import json
import types

import pytest
from django.test import Client

from maintenance.queries import today as clock_module
from tests.api.callers import Caller
from tests.factories import NOW, CollectionFactory, ComponentFactory, MemberFactory, VehicleFactory


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    """Let the only reader of the clock read one instant for ever."""

    class Stopped(datetime.datetime):
        @classmethod
        def now(cls, tz=None):
            return NOW.astimezone(tz)

    stopped = types.SimpleNamespace(datetime=Stopped, date=datetime.date, UTC=datetime.UTC)
    monkeypatch.setattr(clock_module, "datetime", stopped)


@pytest.fixture
def club(db):
    return CollectionFactory()


@pytest.fixture
def secretary(club):
    return Caller(MemberFactory(collection=club).account)


@pytest.fixture
def car(club):
    return VehicleFactory(collection=club)


@pytest.fixture
def fluid(car):
    return ComponentFactory(vehicle=car, kind="brake-fluid")


@pytest.fixture
def stranger(db):
    """The secretary of another club."""
    return Caller(MemberFactory(collection=CollectionFactory()).account)


@pytest.fixture(scope="session")
def document():
    """The OpenAPI document, drawn once: it is the same for everybody."""
    return json.loads(Client().get("/api/v1/openapi.json").content)
