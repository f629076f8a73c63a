"""A database for one test alone, of the kind on which the suite runs, for processes to work on."""

import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg


@contextmanager
def own_database(folder: Path) -> Iterator[str]:
    """Yield the address of a new, empty database; drop it afterwards, whoever still holds it."""
    server, _, _ = os.environ.get("DATABASE_URL", "").rpartition("/")
    if not server.startswith("postgres"):
        yield f"sqlite:///{folder / 'own.sqlite3'}"
        return
    name = f"idle_years_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
        try:
            yield f"{server}/{name}"
        finally:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
