"""Real processes for the tests of faults: workers, beat, Redis, PostgreSQL, an SMTP server.

All are started here, on loopback and on free ports, and stopped again. They need PostgreSQL and
take their time, so they run with the half of the suite that runs on PostgreSQL, and there once.
"""

import os
from contextlib import contextmanager

import pytest
from django.core.management import call_command
from django.db import OperationalError, connection, connections
from django.db.utils import load_backend

from tests.faults.mail_sink import MailSink
from tests.faults.processes import Celery, Postgres, Redis, wait_for
from tests.unguarded import unguarded

if not os.environ.get("DATABASE_URL", "").startswith("postgres"):
    collect_ignore = [
        "test_killed_workers.py",
        "test_servers_away.py",
        "test_many_at_once.py",
        "test_many_callers_with_one_key.py",
        "test_changes_while_others_write.py",
        "test_clocks.py",
        "test_colliding_calls.py",
        "test_sheets_at_once.py",
        "test_writers_of_one_car.py",
        "test_backup_on_postgresql.py",
    ]


@pytest.fixture(scope="session")
def postgres(tmp_path_factory):
    with Postgres(tmp_path_factory.mktemp("postgres")) as server:
        yield server


@pytest.fixture(scope="session")
def redis(tmp_path_factory):
    with Redis(tmp_path_factory.mktemp("redis")) as server:
        yield server


@pytest.fixture(scope="session")
def tables(postgres, django_db_blocker):
    with django_db_blocker.unblock(), as_default(postgres):
        call_command("migrate", verbosity=0)


@pytest.fixture
def outbox(tables, postgres, django_db_blocker, request):
    """The tables of the service, empty, in a cluster of our own.

    Workers kept from an earlier test are stopped where a test does without them: they would do
    its work before it does, by other settings.
    """
    if "celery" not in request.fixturenames:
        for workers in Celery.running:
            workers.stop()
    with django_db_blocker.unblock(), as_default(postgres):
        wait_for(_emptied, "the tables to be empty")
        yield


@pytest.fixture(scope="session")
def mail_server():
    with MailSink() as server:
        yield server


@pytest.fixture
def sink(mail_server, settings):
    mail_server.forget()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_URL, settings.EMAIL_TIMEOUT = mail_server.url, 2
    settings.EMAIL_HOST, settings.EMAIL_PORT = mail_server.host, mail_server.port
    yield mail_server
    mail_server.forget()


@pytest.fixture(scope="session")
def processes(redis, postgres, mail_server, tables, tmp_path_factory):
    environment = {
        "DATABASE_URL": postgres.url,
        "CELERY_BROKER_URL": redis.url,
        "EMAIL_URL": mail_server.url,
        "EMAIL_TIMEOUT": "2",
        "REMINDER_FIND_SECONDS": "20",
        "REMINDER_SEND_SECONDS": "1",
        "REMINDER_LEASE_SECONDS": "20",
        "CELERY_VISIBILITY_TIMEOUT": "5",
    }
    with Celery(environment, tmp_path_factory.mktemp("celery")) as running:
        yield running


@pytest.fixture
def celery(processes, outbox, sink):
    """A worker and a beat, kept from one test to the next as long as nobody kills them."""
    processes.beat()
    processes.worker()
    yield processes
    processes.let_go_of_extra_beats()


def _emptied():
    """Empty all tables; False where a worker that still runs was in the way."""
    names = connection.introspection.django_table_names(only_existing=True)
    try:
        with unguarded(), connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = '2s'; TRUNCATE {', '.join(names)} CASCADE")
    except OperationalError:
        return False
    return True


@contextmanager
def as_default(postgres):
    """Have this process use the cluster as its default database for a while."""
    before = connections["default"]
    settings = {**before.settings_dict, **postgres.settings()}
    mine = load_backend(settings["ENGINE"]).DatabaseWrapper(settings, "default")
    connections["default"] = mine
    try:
        yield
    finally:
        mine.close()
        connections["default"] = before


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Show with a failure what the workers and the beat said last."""
    report = yield
    if report.failed and "celery" in item.fixturenames:
        for workers in Celery.running:
            for process in workers.processes:
                said = workers.said(process).splitlines()[-60:]
                state = "runs" if process.poll() is None else f"ended with {process.poll()}"
                report.sections.append((f"{process.log.name}, {state}", "\n".join(said)))
    return report
