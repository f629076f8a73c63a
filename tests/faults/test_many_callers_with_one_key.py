"""Callers that send one call at the same time, and a server that dies on the way."""

import json
import subprocess
import sys
import threading

import pytest
from django.db import connection

from api.resources import service_events as resource
from maintenance.models import KeptAnswer, ServiceEvent
from tests.api.callers import Caller
from tests.factories import MemberFactory, VehicleFactory
from tests.faults.test_writers_of_one_car import ROOT, _address

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def ask():
    """A call that records an event; to be made by any thread."""
    car = VehicleFactory()
    caller = Caller(MemberFactory(collection=car.collection).account)
    body = {"vehicle": str(car.id), "on": "2026-06-01", "note": "drained the tank"}

    def ask():
        try:
            return caller.post("service-events", body, Idempotency_Key='"one"')
        finally:
            connection.close()

    ask.client, ask.body = caller.client.defaults, body
    return ask


def test_a_second_call_is_told_at_once_that_the_first_has_not_ended(ask, monkeypatch):
    begun, go_on = threading.Event(), threading.Event()
    record = resource.service_events.record_service_event

    def slowly(**asked):
        begun.set()
        assert go_on.wait(20)
        return record(**asked)

    monkeypatch.setattr(resource.service_events, "record_service_event", slowly)
    answers = []
    first = threading.Thread(target=lambda: answers.append(ask()))
    first.start()
    assert begun.wait(20)
    second = ask()
    go_on.set()
    first.join(20)
    third = ask()
    assert (second.status_code, second.json()["type"]) == (
        409,
        "/api/v1/problems/still-under-way",
    )
    assert answers[0].status_code == third.status_code == 201
    assert third.content == answers[0].content
    assert ServiceEvent.objects.count() == 1


def test_eight_callers_at_once_record_one_event(ask):
    answers = []
    callers = [threading.Thread(target=lambda: answers.append(ask())) for _ in range(8)]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join(30)
    assert ServiceEvent.objects.count() == 1
    assert {answer.status_code for answer in answers} <= {201, 409}
    assert len({answer.content for answer in answers if answer.status_code == 201}) == 1


_DYING = """
import json, os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
import django
django.setup()
from django.test import Client
from api import once
keep = once.keep_answer
def die(**said):
    keep(**said)
    os._exit(9)
once.keep_answer = die
said = json.loads(sys.argv[1])
Client(**said["headers"] | {"SERVER_NAME": "localhost"}).post(
    "/api/v1/service-events", said["body"], content_type="application/json")
"""


def test_a_server_that_dies_before_it_answers_leaves_neither_event_nor_key(ask, monkeypatch):
    monkeypatch.setenv("DATABASE_URL", _address())
    headers = ask.client | {"HTTP_IDEMPOTENCY_KEY": '"one"'}
    said = json.dumps({"headers": headers, "body": ask.body})
    dying = subprocess.run([sys.executable, "-c", _DYING, said], cwd=ROOT)
    assert dying.returncode == 9
    assert not ServiceEvent.objects.exists() and not KeptAnswer.objects.exists()
    assert ask().status_code == 201
