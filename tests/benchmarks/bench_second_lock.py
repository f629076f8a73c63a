"""What does row-level security cost, when the first lock has narrowed every query already?

Run from the top folder with DATABASE_URL naming a PostgreSQL server:
``python -m tests.benchmarks.bench_second_lock [COLLECTIONS]``. Loads the demonstration into so many
collections (default 12) of a database of its own and asks the API as the secretary of one of them:
in turn as a superuser, whom no policy holds (the baseline), and as an ordinary role. Prints the
median time of each call and the ratio of the two. The time is that of the clock, since the policies
are the work of another process; both are asked in turn, so that a busy machine slows both.
"""

import copy
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from tests.own_database import own_database

COLLECTIONS, RUNS = 12, 40


def main() -> None:
    """Load the collections and print the ratios."""
    collections = int(sys.argv[1]) if len(sys.argv) > 1 else COLLECTIONS
    with tempfile.TemporaryDirectory() as folder, own_database(Path(folder)) as url:
        if not url.startswith("postgres"):
            sys.exit("SQLite has no row-level security; name a PostgreSQL server in DATABASE_URL")
        os.environ |= {
            "DATABASE_URL": url,
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "SECRET_KEY": "of this run alone",
            "LOG_LEVEL": "ERROR",
        }
        measure(collections)


def measure(collections: int) -> None:
    """Fill the database that the settings name, and time the calls of both roles."""
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection
    from django.test.utils import setup_test_environment

    from maintenance.models import DueItem, Entry

    setup_test_environment()
    settings.RATE_LIMITS = {}
    call_command("migrate", verbosity=0)
    calls = calls_of(load(collections))
    with connection.cursor() as cursor:
        # As autovacuum does by itself; without it the plans are those of empty tables.
        cursor.execute("ANALYZE")
    print(f"{collections} collections, {DueItem.objects.count()} due items, ", end="")
    print(f"{Entry.objects.count()} entries; {RUNS} calls of each kind by each role")
    with ordinary_role(connection) as role:
        for name, call in calls.items():
            free, held = in_turn(call, connection, role)
            print(f"{name}: {free:.1f} ms free, {held:.1f} ms held, ratio {held / free:.2f}")


def load(collections: int) -> Any:
    """Load the demonstration so many times; return the secretary of the last collection."""
    from django.conf import settings

    from maintenance.management.demonstration import FILE, told_on
    from maintenance.models import Collection
    from maintenance.queries.second_lock import everything_in_sight
    from maintenance.services.history_file.import_history import import_history
    from maintenance.services.history_file.read import read_document
    from tests.factories import NOW, MemberFactory

    document = read_document(FILE.read_bytes(), limit=settings.HISTORY_FILE_LIMIT)
    document = told_on(document, today=NOW.date())
    with everything_in_sight():
        for number in range(collections):
            club = copy.deepcopy(document)
            club["collection"]["name"] += f" {number}"
            import_history(document=club, by=None, at=NOW, today=NOW.date())
        return MemberFactory(role="secretary", collection=Collection.objects.last())


def calls_of(secretary: Any) -> dict[str, Callable[[], Any]]:
    """Return calls that read, list what hangs on other rows, and write."""
    from tests.api.callers import Caller

    caller = Caller(secretary.account)
    [vehicle, *_] = caller.items("vehicles")
    due = caller.items("due-items", {"limit": 1})[0]["id"]
    reading = {"vehicle": vehicle["id"], "on": "2026-11-25", "note": "washed"}
    return {
        "due items, 100 of them": lambda: caller.get("due-items", {"limit": 100}),
        "service events with entries, 100": lambda: caller.get("service-events", {"limit": 100}),
        "one working": lambda: caller.get(f"due-items/{due}/working"),
        "an event recorded": lambda: caller.post("service-events", reading),
    }


@contextmanager
def ordinary_role(connection: Any) -> Iterator[str]:
    """Make a role that the policies hold; roles belong to the server, so it goes again."""
    role = f"ordinary_{connection.settings_dict['NAME']}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE ROLE {role} NOSUPERUSER NOBYPASSRLS")
        cursor.execute(f"GRANT ALL ON ALL TABLES IN SCHEMA public TO {role}")
        cursor.execute(f"GRANT ALL ON ALL SEQUENCES IN SCHEMA public TO {role}")
        try:
            yield role
        finally:
            cursor.execute(f"RESET ROLE; DROP OWNED BY {role}; DROP ROLE {role}")


def in_turn(call: Callable[[], Any], connection: Any, role: str) -> tuple[float, float]:
    """Return the median times of a call [ms], free of the policies and held by them."""
    free: list[float] = []
    held: list[float] = []
    for _ in range(RUNS):
        for times, says in ((free, "RESET ROLE"), (held, f"SET ROLE {role}")):
            with connection.cursor() as cursor:
                cursor.execute(says)
            begun = perf_counter()
            answer = call()
            times.append((perf_counter() - begun) * 1000)
            assert answer.status_code < 300, answer.content
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_user = %s", [role])
        assert cursor.fetchone() == (True,), "the calls were made by another connection"
        cursor.execute("RESET ROLE")
    return median(free), median(held)


if __name__ == "__main__":
    main()
