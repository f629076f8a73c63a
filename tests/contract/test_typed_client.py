"""A client drawn from the description alone can keep a car: nothing is said that is not so."""

import datetime
import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

NAME = "idle_years_client"
CONFIGURATION = Path(__file__).parent / "client.yml"
FITTED = datetime.date(2026, 3, 2)


@pytest.fixture(scope="module")
def generated(live, tmp_path_factory):
    """The client as a package that can be imported, with what its generator said."""
    folder = tmp_path_factory.mktemp("client")
    schema = folder / "openapi.json"
    live.run(f"python manage.py spectacular --format openapi-json --file {schema}")
    binaries = Path(sys.executable).parent
    ran = subprocess.run(
        [binaries / "openapi-python-client", "generate", "--path", schema, "--meta", "none"]
        + ["--output-path", folder / NAME, "--config", CONFIGURATION],
        env=os.environ | {"PATH": f"{binaries}:{os.environ['PATH']}"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=120,
        check=True,
    )
    sys.path.insert(0, str(folder))
    yield ran.stdout
    sys.path.remove(str(folder))


@pytest.fixture(scope="module")
def client(generated, live):
    package = importlib.import_module(NAME)
    return package.AuthenticatedClient(
        base_url=live.url, token=live.token, raise_on_unexpected_status=True
    )


def call(noun, verb, **arguments):
    """Call one operation of the generated client; a refusal fails the test with its words."""
    operation = importlib.import_module(f"{NAME}.api.{noun}.{verb}")
    answer = operation.sync_detailed(**arguments)
    assert answer.status_code < 300, answer.content
    return answer


def model(name):
    return getattr(importlib.import_module(f"{NAME}.models"), name)


@pytest.fixture(scope="module")
def car(client):
    collection = call("collections", "list_collections", client=client).parsed.items[0]
    body = model("VehicleRequest")(
        collection=collection.id,
        registration="VY-990",
        make="Tarnbrook",
        model="1200",
        odometer_unit=model("DistanceUnit").KM,
        odometer_digits=5,
        first_registered_on=datetime.date(1971, 5, 4),
    )
    return call("vehicles", "record_vehicle", client=client, body=body).parsed


@pytest.fixture(scope="module")
def fluid(client, car):
    body = model("ComponentRequest")(vehicle=car.id, kind="brake-fluid")
    return call("components", "add_component", client=client, body=body).parsed


@pytest.fixture(scope="module")
def renewal(client, car, fluid):
    entry = model("EntryRequest")(kind="brake-fluid", action=model("ActionEnum").RENEW)
    body = model("ServiceEventRequest")(
        vehicle=car.id, on=FITTED.isoformat(), odometer=48000.0, entries=[entry]
    )
    return call(
        "service_events", "record_service_event", client=client, body=body, idempotency_key="fluid"
    ).parsed


def test_the_generator_understands_every_call(generated):
    assert "WARNING" not in generated


def test_work_recorded_through_the_client_moves_the_due_day(client, car, renewal):
    listed = call("due_items", "list_due_items", client=client, vehicle=car.id).parsed.items
    two_years_on = FITTED.replace(year=FITTED.year + 2)
    assert [item.due_on for item in listed if item.task == "renew"] == [two_years_on]


def test_a_change_names_the_version_it_changes(client, car):
    tag = call("vehicles", "read_vehicle", client=client, id=car.id).headers["ETag"]
    body = model("PatchedVehicleChangeRequest")(model="1200 saloon")
    changed = call("vehicles", "change_vehicle", client=client, id=car.id, body=body, if_match=tag)
    assert changed.parsed.model == "1200 saloon"
    assert changed.headers["ETag"] != tag


def test_a_refusal_comes_as_a_problem_of_its_own_type(client, car):
    operation = importlib.import_module(f"{NAME}.api.components.add_component")
    body = model("ComponentRequest")(vehicle=car.id, kind="brake-fuid")
    refused = operation.sync(client=client, body=body)
    assert type(refused) is model("Problem")
    assert [line.pointer for line in refused.errors] == ["/kind"]


def test_what_was_recorded_comes_back_as_it_was_sent(client, renewal):
    read = call("service_events", "read_service_event", client=client, id=renewal.id).parsed
    assert (read.on, read.odometer, [entry.kind for entry in read.entries]) == (
        FITTED.isoformat(),
        48000.0,
        ["brake-fluid"],
    )
