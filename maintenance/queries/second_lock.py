"""Which collections the database itself lets this thread see: PostgreSQL's row-level security.

The first lock is `queries.access`, which narrows every query. This is the second, for the query
that somebody forgets to narrow: a policy on every table of a collection compares it with a setting
of the session. A session that says nothing sees nothing. The web says it from the sight of whoever
asks; commands, workers and the operators' admin say `EVERYTHING`, each where it begins. On SQLite
there is no such lock, and all of this does nothing.
"""

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection
from psycopg.pq import TransactionStatus

SETTING = "idle_years.collections"
NOTHING, EVERYTHING = "", "everything"

# Beside the connection, which is the thread's too; it outlives a connection that is closed.
_said = threading.local()


def see(collections: Iterable[Any] | str) -> None:
    """Say which collections are in sight from now on: some, `NOTHING` or `EVERYTHING`.

    One round trip where it differs from what was said before, and a connection is open.
    """
    said = collections if isinstance(collections, str) else ",".join(map(str, collections))
    if said != _now():
        _said.collections = said
        if connection.connection is not None:
            _tell(connection)


@contextmanager
def everything_in_sight() -> Iterator[None]:
    """For what a secret or the service itself opens: see every collection until the end.

    Use it as a decorator outside `transaction.atomic`, or for the few lines that need it.
    """
    before = _now()
    see(EVERYTHING)
    try:
        yield
    finally:
        see(before)


def tell_new_connection(*, connection: Any, **_: Any) -> None:
    """Tell a connection just opened, or taken from a pool where another thread had it."""
    _tell(connection)


def see_nothing(**_: Any) -> None:
    """Forget at the beginning and the end of a request what the one before might see."""
    see(NOTHING)


def _now() -> str:
    return getattr(_said, "collections", NOTHING)


def _tell(to: Any) -> None:
    if to.vendor != "postgresql":
        return
    if to.connection.info.transaction_status == TransactionStatus.INERROR:
        # The transaction takes nothing more. It is undone, and what was said within it as well.
        return
    with to.connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, false)", [SETTING, _now()])
