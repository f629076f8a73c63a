"""A live service on PostgreSQL, with a database of its own, for programs that call it.

What is tried here is the service as other programs meet it, in the shape in which it is run. It
takes its time and does not differ by database, so it runs with the half on PostgreSQL, once.
"""

import os

import pytest

from tests.live_service import LiveService
from tests.own_database import own_database

if not os.environ.get("DATABASE_URL", "").startswith("postgres"):
    collect_ignore_glob = ["test_*.py"]

#: More is asked here in a minute than a client may in an hour.
NO_RATE_LIMITS = {
    f"RATE_LIMIT_{name}": "" for name in ("READS", "WRITES", "ANONYMOUS", "BAD_TOKENS")
}
#: Two processes, as a server would have; queries longer than servers take are the tester's alone,
#: and so is a machine that searches for plans beside all other tests.
SERVER = {
    "WEB_CONCURRENCY": "2",
    "GUNICORN_CMD_ARGS": "--limit-request-line 0 --timeout 180",
    "LOG_LEVEL": "ERROR",
}


@pytest.fixture(scope="module")
def live(tmp_path_factory):
    folder = tmp_path_factory.mktemp("live")
    with own_database(folder) as url:
        running = LiveService(folder, DATABASE_URL=url, **SERVER, **NO_RATE_LIMITS)
        yield running
        running.stop()
