"""A dump restored into an empty database verifies, and its guards stand."""

import subprocess

import psycopg
import pytest
from django.db import connection

from maintenance.models import LayUp, Vehicle
from maintenance.services.lay_ups import lay_up
from maintenance.services.verify_history import verify_history
from tests.factories import VehicleFactory
from tests.faults.conftest import as_default
from tests.faults.processes import HOST
from tests.services.asking import standing

NAME = "restored"


def address(postgres, name):
    return f"postgres://postgres@{HOST}:{postgres.port}/{name}"


class Restored:
    """The database restored into, in the cluster of the tests of faults."""

    def __init__(self, postgres):
        self.postgres = postgres

    def settings(self):
        return {**self.postgres.settings(), "NAME": NAME}


@pytest.fixture
def restored(outbox, postgres, now, today):
    """The cluster's database with one record, dumped and restored as the operators' page says."""
    with as_default(postgres):
        draft = standing("2026-01-01", "2026-04-01")
        lay_up(vehicle=VehicleFactory(), draft=draft, by=None, at=now, today=today)
    dump = subprocess.run(
        ["pg_dump", "--format=custom", "--no-owner", postgres.url], check=True, capture_output=True
    )
    with psycopg.connect(postgres.url, autocommit=True) as session:
        session.execute(f"DROP DATABASE IF EXISTS {NAME} WITH (FORCE)")
        session.execute(f"CREATE DATABASE {NAME}")
    into = ["pg_restore", "--no-owner", "--exit-on-error", f"--dbname={address(postgres, NAME)}"]
    subprocess.run(into, input=dump.stdout, check=True, capture_output=True)
    return Restored(postgres)


def test_a_dump_restored_verifies_and_still_refuses_a_change(restored):
    with as_default(restored):
        (verified,) = verify_history(Vehicle.objects.all())
        assert (verified.faults, verified.length) == ([], 1)
        with pytest.raises(Exception, match="evidence"):
            LayUp.objects.update(storage="heated")
        connection.close()
