"""Taking the guards of evidence away for a moment, as only one who owns the database can.

Nothing but tests does it: to empty the tables between them, and to play the forger.
"""

from contextlib import contextmanager

from django.db import connection, transaction
from django.db.backends.base.operations import BaseDatabaseOperations

GUARDED_POSTGRESQL = """
SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE tgname IN
  ('evidence_stays', 'evidence_is_not_emptied')
"""
GUARDS_SQLITE = (
    "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'evidence%'"
)


def guarded_tables():
    """Return the tables that the database guards."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(GUARDED_POSTGRESQL)
        else:
            cursor.execute(GUARDS_SQLITE.replace("name, sql", "DISTINCT tbl_name"))
        return {table for (table,) in cursor.fetchall()}


@contextmanager
def unguarded():
    """Let evidence be changed and deleted until the end of the block."""
    take_away = _switch_off if connection.vendor == "postgresql" else _drop
    with connection.cursor() as cursor:
        put_back = take_away(cursor)
        yield
        # After an error the transaction is undone, and the guards are back with everything else.
        for statement in put_back:
            cursor.execute(statement)


def _switch_off(cursor):
    tables = sorted(guarded_tables())
    # A table with references still to be checked can't be altered.
    cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    for table in tables:
        cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
    back = [f"ALTER TABLE {table} ENABLE TRIGGER USER" for table in tables]
    return ["SET CONSTRAINTS ALL IMMEDIATE", *back, "SET CONSTRAINTS ALL DEFERRED"]


def _drop(cursor):
    cursor.execute(GUARDS_SQLITE)
    guards = cursor.fetchall()
    for name, _ in guards:
        cursor.execute(f"DROP TRIGGER {name}")
    return [sql for _, sql in guards]


def let_tests_empty_tables():
    """Let Django empty the tables after a test that commits, which deletes evidence as well."""
    emptied = BaseDatabaseOperations.execute_sql_flush

    def execute_sql_flush(operations, sql_list):
        with transaction.atomic(), unguarded():
            emptied(operations, sql_list)

    BaseDatabaseOperations.execute_sql_flush = execute_sql_flush
