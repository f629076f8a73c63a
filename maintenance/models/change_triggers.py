"""The triggers that write the lines of the feed, so that no way of writing a row can forget it.

They are made anew after every migration, from the columns that the tables then have: SQLite
rebuilds a table to alter it and drops its triggers with the old one. On PostgreSQL they run once a
statement, over all its rows at once; SQLite knows none but those that run for each row.
"""

import re
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import connections, transaction
from django.db.models import Model

from maintenance.models.changed_nouns import CHANGED, CREATED, NOUNS, REMOVED, Also, Noun
from maintenance.models.changes import Change

EVENTS = {"insert": CREATED, "update": CHANGED, "delete": REMOVED}

_INSERT = (
    "INSERT INTO maintenance_change"
    " (xid, noun, record, change, vehicle, collection, account, at)"
    " SELECT {distinct}{xid}, '{noun}', {record}, '{change}', {vehicle}{uuid}, {collection},"
    " {account}{uuid}, {now}{source} WHERE {where}"
)
_POSTGRESQL = """
CREATE OR REPLACE FUNCTION note_{event}_of_{table}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN {lines}; RETURN NULL; END $$;
DROP TRIGGER IF EXISTS changes_noted_{event} ON {table};
CREATE TRIGGER changes_noted_{event} AFTER {event} ON {table} REFERENCING {tables}
FOR EACH STATEMENT EXECUTE FUNCTION note_{event}_of_{table}();
"""
#: The rows of a statement, as each event has them; what was deleted is read like what is.
_ROWS = {
    "insert": ("NEW TABLE AS new_rows", "new_rows n"),
    "update": (
        "NEW TABLE AS new_rows OLD TABLE AS old_rows",
        "new_rows n JOIN old_rows o ON o.id = n.id",
    ),
    "delete": ("OLD TABLE AS old_rows", "old_rows n"),
}


def keep_triggers(using: str) -> None:
    """Make the triggers of all tables anew, in one transaction."""
    connection = connections[using]
    with transaction.atomic(using=using), connection.cursor() as cursor:
        if Change._meta.db_table not in connection.introspection.table_names(cursor):
            return  # migrated back to a time before the feed
        write = _postgresql if connection.vendor == "postgresql" else _sqlite
        for noun in NOUNS:
            for event in EVENTS:
                for statement in write(noun, event):
                    cursor.execute(statement)


def set_triggers_aside(using: str) -> None:
    """Take the triggers away on SQLite before tables are altered; `keep_triggers` puts them back.

    Without this no table can be altered that a trigger of another table reads: SQLite drops the
    old one first, and then refuses every step that would leave a trigger without its table.
    """
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'changes_noted_%%'"
        )
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {name}")


def _table(noun: Noun) -> type[Model]:
    found: type[Model] = apps.get_model("maintenance", noun.model)
    return found


def _lines(noun: Noun, event: str) -> Iterator[Also]:
    """Yield what is told of a write; what goes out of sight comes before what is there."""
    yield from (each for each in noun.also if event in each.on)
    yield Also(
        on=(event,),
        noun=noun.name,
        change=EVENTS[event],
        record="n.id",
        where="TRUE" if event != "update" else "ANY_COLUMN_DIFFERS",
        vehicle=noun.vehicle,
        collection=noun.collection,
    )


def _postgresql(noun: Noun, event: str) -> Iterator[str]:
    tables, rows = _ROWS[event]
    lines = [
        _INSERT.format(
            **_words(line),
            xid="pg_current_xact_id()::text::bigint",
            uuid="::uuid",
            now="now()",
            source=f" FROM {rows}" + (f", {line.rows}" if line.rows else ""),
        )
        for line in _lines(noun, event)
    ]
    written = "; ".join(lines).replace("ANY_COLUMN_DIFFERS", "n IS DISTINCT FROM o")
    yield _POSTGRESQL.format(
        event=event,
        table=_table(noun)._meta.db_table,
        tables=tables,
        lines=written.replace("DIFFERS", "IS DISTINCT FROM"),
    )


def _sqlite(noun: Noun, event: str) -> Iterator[str]:
    model = _table(noun)
    table, row = model._meta.db_table, "OLD" if event == "delete" else "NEW"
    columns = [column.column for column in model._meta.concrete_fields]
    differs = " OR ".join(f'n."{column}" DIFFERS o."{column}"' for column in columns)
    lines = [
        _INSERT.format(
            **_words(line),
            xid="0",
            uuid="",
            now="strftime('%Y-%m-%d %H:%M:%f', 'now')",
            source=f" FROM {line.rows}" if line.rows else "",
        )
        for line in _lines(noun, event)
    ]
    written = "; ".join(lines).replace("ANY_COLUMN_DIFFERS", f"({differs})")
    written = written.replace("DIFFERS", "IS NOT").replace("TRUE", "1")
    written = re.sub(r"\bn\.", f"{row}.", re.sub(r"\bo\.", "OLD.", written))
    yield f"DROP TRIGGER IF EXISTS changes_noted_{event}_of_{table}"
    yield (
        f"CREATE TRIGGER changes_noted_{event}_of_{table} AFTER {event} ON {table} "
        f"BEGIN {written}; END"
    )


def _words(line: Also) -> dict[str, Any]:
    names = ("noun", "record", "change", "vehicle", "collection", "account", "where")
    # An event of which two entries are about one component is told once.
    distinct = "DISTINCT " if line.rows else ""
    return {"distinct": distinct, **{name: getattr(line, name) for name in names}}
