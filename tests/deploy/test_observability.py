"""What machines ask: alive, ready, and how the outbox stands."""

import datetime

import pytest
from django.test import Client
from prometheus_client.parser import text_string_to_metric_families

from maintenance.models import Message
from tests.reminders.told import NOW, find, item_due, preference_of, send

pytestmark = pytest.mark.django_db

TOKEN = {"Authorization": "Bearer a-token-for-tests"}


@pytest.fixture
def figures(settings, monkeypatch):
    """Reads the metrics as a collector would, by name and labels."""
    settings.METRICS_TOKEN = "a-token-for-tests"
    settings.EMAIL_URL = "smtp://127.0.0.1"

    def read(at=NOW):
        monkeypatch.setattr("deploy.observability.this_instant", lambda: at)
        text = Client(headers=TOKEN).get("/metrics").content.decode()
        families = list(text_string_to_metric_families(text))
        return {
            (sample.name, *sorted(sample.labels.values())): sample.value
            for family in families
            for sample in family.samples
        }

    return read


def test_a_process_that_answers_is_alive():
    assert Client().get("/healthz").json() == {"status": "alive"}


def test_a_service_with_its_tables_and_no_broker_is_ready():
    answer = Client().get("/readyz")
    assert answer.status_code == 200
    assert answer.json()["checks"] == {"database": "ready", "broker": "not used"}


def test_a_service_whose_broker_is_away_is_not_ready(settings):
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    answer = Client().get("/readyz")
    assert answer.status_code == 503
    assert answer.json()["checks"]["broker"] == "does not answer"


def test_without_a_token_set_there_are_no_metrics(settings):
    settings.METRICS_TOKEN = ""
    assert Client(headers={"Authorization": "Bearer "}).get("/metrics").status_code == 404


def test_metrics_are_for_whoever_has_the_token(settings):
    settings.METRICS_TOKEN = "a-token-for-tests"
    assert Client().get("/metrics").status_code == 401
    assert Client(headers={"Authorization": "Bearer wrong"}).get("/metrics").status_code == 401
    assert Client(headers=TOKEN).get("/metrics").status_code == 200


def test_due_items_are_counted_by_the_status_of_the_day(figures):
    item_due(40), item_due(10), item_due(-3)
    found = figures()
    assert found["idle_years_due_items", "in_date"] == 1
    assert found["idle_years_due_items", "falling_due"] == 1
    assert found["idle_years_due_items", "overdue"] == 1


def test_the_outbox_shows_how_many_wait_and_for_how_long(figures):
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    found = figures(NOW + datetime.timedelta(minutes=10))
    assert found["idle_years_outbox_messages", "email", "waiting"] == 1
    assert found["idle_years_outbox_oldest_seconds", "email"] == 600


def test_send_latency_is_counted_from_the_time_a_message_was_to_go_out(figures):
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    send(at=NOW + datetime.timedelta(minutes=2))
    found = figures()
    assert found["idle_years_send_latency_seconds_bucket", "60.0", "email"] == 0
    assert found["idle_years_send_latency_seconds_bucket", "300.0", "email"] == 1
    assert found["idle_years_send_latency_seconds_sum", "email"] == 120
    assert found["idle_years_send_latency_seconds_count", "email"] == 1


def test_failures_are_counted(figures):
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    Message.objects.update(failures_in_all=4)
    assert figures()["idle_years_send_failures_total", "email"] == 4
