"""What a machine asks the service: is it alive, is it ready, how does it stand.

Every figure is read from rows when it is asked for. Counters kept in a process would be wrong as
soon as there are two, and would be lost with each restart.
"""

import hmac
from collections.abc import Iterator, Mapping
from typing import Any

import redis
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, generate_latest
from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    HistogramMetricFamily,
    Metric,
)

from maintenance.queries.second_lock import everything_in_sight
from maintenance.queries.today import this_instant
from maintenance.reminders import figures

_PATIENCE_S = 2


@require_safe
@never_cache
def healthz(request: HttpRequest) -> HttpResponse:
    """Say that the process answers; asks nobody else, so that no outage has it restarted."""
    return JsonResponse({"status": "alive"})


@require_safe
@never_cache
def readyz(request: HttpRequest) -> HttpResponse:
    """Say whether requests and tasks can be served, and what is in the way if not."""
    checks = {"database": _database(), "broker": _broker()}
    ready = all(said in ("ready", "not used") for said in checks.values())
    return JsonResponse(
        {"status": "ready" if ready else "not ready", "checks": checks},
        status=200 if ready else 503,
    )


@require_safe
@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    """Answer the figures in the text format of Prometheus, to whoever has METRICS_TOKEN."""
    if not settings.METRICS_TOKEN:
        raise Http404
    wanted = f"Bearer {settings.METRICS_TOKEN}".encode()
    given = request.headers.get("Authorization", "").encode("utf-8", "replace")
    if not hmac.compare_digest(given, wanted):
        return HttpResponse(status=401, headers={"WWW-Authenticate": "Bearer"})
    registry = CollectorRegistry(auto_describe=False)
    with everything_in_sight():
        registry.register(_Outbox())
        figures_now = generate_latest(registry)
    return HttpResponse(figures_now, content_type=CONTENT_TYPE_LATEST)


class _Outbox:
    """Due items and the outbox as they stand when asked."""

    def describe(self) -> list[Metric]:
        return []

    def collect(self) -> Iterator[Metric]:
        at = this_instant()
        yield _gauge(
            "idle_years_due_items",
            "Due items by status on the day of their collection.",
            ["status"],
            {(status,): count for status, count in figures.due_items_by_status(at).items()},
        )
        yield _gauge(
            "idle_years_outbox_messages",
            "Messages by channel and state.",
            ["channel", "state"],
            figures.messages_by_state(),
        )
        yield _gauge(
            "idle_years_outbox_oldest_seconds",
            "How long the oldest message that is not settled has been late.",
            ["channel"],
            {(channel,): age for channel, age in figures.oldest_waiting_s(at).items()},
        )
        failures = CounterMetricFamily(
            "idle_years_send_failures", "Attempts to send that failed.", labels=["channel"]
        )
        for channel, count in figures.failures().items():
            failures.add_metric([channel], count)
        yield failures
        yield _latency()


def _latency() -> Metric:
    family = HistogramMetricFamily(
        "idle_years_send_latency_seconds",
        "Time from when a message was to go out until it had.",
        labels=["channel"],
    )
    for each in figures.latencies():
        pairs = zip(figures.LATENCY_BOUNDS_S, each.within, strict=True)
        buckets = [(f"{bound:.1f}", float(count)) for bound, count in pairs]
        family.add_metric([each.channel], [*buckets, ("+Inf", each.count)], each.total_s)
    return family


def _gauge(
    name: str, text: str, labels: list[str], values: Mapping[Any, float]
) -> GaugeMetricFamily:
    family = GaugeMetricFamily(name, text, labels=labels)
    for each, value in values.items():
        family.add_metric(list(each), value)
    return family


def _database() -> str:
    try:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            return "migrations are missing; run manage.py migrate"
    except DatabaseError:
        return "does not answer"
    return "ready"


def _broker() -> str:
    if not settings.CELERY_BROKER_URL:
        return "not used"
    try:
        client = redis.Redis.from_url(
            settings.CELERY_BROKER_URL,
            socket_timeout=_PATIENCE_S,
            socket_connect_timeout=_PATIENCE_S,
        )
        client.ping()
    except (redis.RedisError, ValueError):
        return "does not answer"
    return "ready"
