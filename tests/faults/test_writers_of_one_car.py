"""Several processes that write to one car at the same time."""

import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from maintenance.services.verify_history import verify_history
from tests.factories import VehicleFactory

ROOT = Path(__file__).resolve().parents[2]

_WRITER = """
import datetime, os, sys
from decimal import Decimal
os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
import django
django.setup()
from maintenance.models import Vehicle
from maintenance.services.drafts import ReadingDraft
from maintenance.services.odometer import record_reading
car, first = Vehicle.objects.get(), int(sys.argv[1])
sys.stdin.readline()
for step in range(10):
    record_reading(
        vehicle=car,
        draft=ReadingDraft(on=datetime.date(2026, 9, 1), value=Decimal(50_000)),
        by=None,
        at=datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC),
        today=datetime.date(2026, 11, 25),
    )
"""


@pytest.mark.django_db(transaction=True)
def test_three_writers_at_a_time_leave_one_unbroken_chain(monkeypatch):
    car = VehicleFactory()
    monkeypatch.setenv("DATABASE_URL", _address())
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(number)], stdin=subprocess.PIPE, cwd=ROOT
        )
        for number in range(3)
    ]
    for writer in writers:
        writer.stdin.write(b"go\n")
        writer.stdin.close()
    assert [writer.wait(120) for writer in writers] == [0, 0, 0]
    (verified,) = verify_history([car])
    assert (verified.faults, verified.length) == ([], 30)


def _address():
    said = connection.settings_dict
    place = f"{said['USER']}:{said['PASSWORD']}@{said['HOST']}:{said['PORT'] or 5432}"
    return f"postgres://{place}/{said['NAME']}"
