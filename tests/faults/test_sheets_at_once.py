"""Sheets that move parts between the same cars at the same time: none waits for ever."""

import datetime
import threading

import pytest
from django.db import connection

from maintenance.models import Arrival, Vehicle
from maintenance.services.verify_history import verify_history
from tests.factories import CollectionFactory, ComponentFactory, VehicleFactory
from tests.services.spreadsheet.sheets import as_csv, take

pytestmark = pytest.mark.django_db(transaction=True)

NOW = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
CARS, THREADS, SHEETS = 8, 4, 5


def a_sheet(thread, number):
    """Parts of one position that go from car to car, forwards or backwards by the thread."""
    cars = list(range(CARS))[:: 1 if thread % 2 else -1]
    said = {"component": "tyre", "position": f"place {thread} {number}", "on": "2025-03-01"}
    rows = [
        said | {"registration": f"HM {cars[0]}", "action": "remove", "to": "", "to_vehicle": ""}
    ]
    for there, here in zip(cars, cars[1:], strict=False):
        moved = {"action": "move", "to": said["position"], "to_vehicle": f"HM {there}"}
        rows.append(said | {"registration": f"HM {here}"} | moved)
    return as_csv(*rows)


def test_sheets_that_move_parts_between_the_same_cars_are_all_taken():
    club = CollectionFactory()
    for number in range(CARS):
        car = VehicleFactory(collection=club, registration=f"HM {number}")
        for thread in range(THREADS):
            for sheet in range(SHEETS):
                ComponentFactory(vehicle=car, kind="tyre", position=f"place {thread} {sheet}")
    failures = []

    def send(thread):
        try:
            for number in range(SHEETS):
                when = {"by": None, "at": NOW, "today": NOW.date()}
                take(a_sheet(thread, number), club, when)
        except Exception as failure:
            failures.append(repr(failure))
        finally:
            connection.close()

    threads = [threading.Thread(target=send, args=(number,)) for number in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(240)
    assert failures == []
    assert Arrival.objects.count() == THREADS * SHEETS * (CARS - 1)
    assert all(not each.faults for each in verify_history(Vehicle.objects.all()))
