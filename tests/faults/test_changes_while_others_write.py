"""A mirror that follows the feed while others write, each in a transaction of its own length."""

import random
import threading
import time

import pytest
from django.db import connection, transaction

from api.places import opened
from maintenance.models import Change
from maintenance.queries.changes import horizon
from tests.api.callers import Caller
from tests.api.mirror import Mirror, listed
from tests.factories import MemberFactory, PaperFactory, VehicleFactory

WRITERS, WRITES = 4, 15


def write(cars, seed):
    chance = random.Random(seed)
    try:
        for _ in range(WRITES):
            with transaction.atomic():
                paper = PaperFactory(vehicle=chance.choice(cars))
                # What was written first may end last.
                time.sleep(chance.random() / 20)
                if chance.random() < 0.3:
                    paper.delete()
    finally:
        connection.close()


def settled():
    """Say whether everything written can be served; other databases of the server hold it back."""
    return Change.objects.order_by("xid").last().xid < horizon()


@pytest.mark.django_db(transaction=True)
def test_nothing_is_left_out_or_told_twice():
    keeper = MemberFactory(role="keeper")
    cars = [VehicleFactory(collection=keeper.collection, keeper=keeper) for _ in range(3)]
    mirror = Mirror(Caller(keeper.account), limit=2)
    writers = [threading.Thread(target=write, args=(cars, seed)) for seed in range(WRITERS)]
    for writer in writers:
        writer.start()
    while any(writer.is_alive() for writer in writers):
        mirror.follow()
    deadline = time.monotonic() + 90
    while not settled() and time.monotonic() < deadline:
        time.sleep(0.1)
    mirror.follow()
    assert mirror.rows == listed(mirror.caller)
    told = [opened(place) for place in mirror.seen]
    assert told == sorted(set(told)) and len(told) >= WRITERS * WRITES
