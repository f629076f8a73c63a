"""Triggers by which the database itself refuses to change or delete evidence, whoever asks.

Three changes pass: `current` from true to false, when a later record supersedes; `collection`,
while a row of `handover` says that a car goes from the one to the other; and a text that may name
somebody, to what a row of `texterasure` says that it reads from now on.

SQLite rebuilds a table to alter it and drops its triggers with the old one: a migration that
alters a table of evidence calls `unguard` before and `guard` after, in operations of their own.
"""

NAME = "evidence"

#: Columns that may name people, in whichever table they stand (`TEXTS` of the models).
TEXTS = ("reason", "done_by", "note", "why", "name", "now_reads")

POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION refuse_change_of_evidence() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  may_change text[] := ARRAY[{", ".join(f"'{name}'" for name in (*TEXTS, "salts"))}];
  erased boolean;
BEGIN
  IF TG_OP = 'UPDATE' THEN
    IF to_jsonb(OLD) -> 'current' = 'true'::jsonb AND to_jsonb(NEW) -> 'current' = 'false'::jsonb
      AND to_jsonb(OLD) - 'current' = to_jsonb(NEW) - 'current'
    THEN RETURN NEW; END IF;
    IF to_jsonb(OLD) - 'collection_id' = to_jsonb(NEW) - 'collection_id'
      AND EXISTS (SELECT 1 FROM maintenance_handover AS under_way
        WHERE under_way.from_collection_id = OLD.collection_id
          AND under_way.to_collection_id = NEW.collection_id)
    THEN RETURN NEW; END IF;
    IF to_jsonb(OLD) ? 'salts' AND to_jsonb(OLD) - may_change = to_jsonb(NEW) - may_change
    THEN
      SELECT count(*) > 0 INTO erased FROM maintenance_texterasure WHERE erased_in = OLD.id;
      SELECT erased AND NOT EXISTS (SELECT 1 FROM unnest(may_change) AS text
        WHERE text <> 'salts' AND to_jsonb(OLD) ->> text IS DISTINCT FROM to_jsonb(NEW) ->> text
          AND NOT EXISTS (SELECT 1 FROM maintenance_texterasure AS said
            WHERE said.erased_in = OLD.id AND said.field = text
              AND said.now_reads = to_jsonb(NEW) ->> text)) INTO erased;
      IF erased THEN RETURN NEW; END IF;
    END IF;
  END IF;
  RAISE EXCEPTION '% is evidence: a later record supersedes it, nothing changes or deletes it',
    TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$
"""

POSTGRESQL = """
CREATE TRIGGER evidence_stays BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION refuse_change_of_evidence();
CREATE TRIGGER evidence_is_not_emptied BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change_of_evidence();
"""

SQLITE_REFUSAL = """BEGIN
SELECT RAISE(ABORT, '{table} is evidence: a later record supersedes it, nothing changes or deletes it');
END"""

SQLITE_UPDATE = """
CREATE TRIGGER evidence_{table}_update BEFORE UPDATE ON {table}
WHEN NOT COALESCE({superseded}, 0) AND NOT ({handed_over}) AND NOT COALESCE({erased}, 0) {refusal}
"""
SQLITE_DELETE = "CREATE TRIGGER evidence_{table}_delete BEFORE DELETE ON {table} {refusal}"
# INSERT OR REPLACE deletes the row in its way without asking the trigger above.
SQLITE_INSERT = """
CREATE TRIGGER evidence_{table}_insert BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} AS there WHERE {same}) {refusal}
"""


def guard(*models):
    """Return what a migration runs to guard the tables of some models."""

    def forwards(apps, schema_editor):
        found = [apps.get_model("maintenance", name) for name in models]
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(POSTGRESQL_FUNCTION, params=None)
            for model in found:
                schema_editor.execute(POSTGRESQL.format(table=model._meta.db_table))
        else:
            for model in found:
                for statement in _sqlite(model):
                    schema_editor.execute(statement)

    return forwards


def unguard(*models):
    """Return what a migration runs to take the guards of some models away again."""

    def backwards(apps, schema_editor):
        for name in models:
            table = apps.get_model("maintenance", name)._meta.db_table
            if schema_editor.connection.vendor == "postgresql":
                for trigger in ("evidence_stays", "evidence_is_not_emptied"):
                    schema_editor.execute(f"DROP TRIGGER {trigger} ON {table}")
            else:
                for event in ("update", "delete", "insert"):
                    schema_editor.execute(f"DROP TRIGGER evidence_{table}_{event}")

    return backwards


def _sqlite(model):
    table = model._meta.db_table
    columns = [field.column for field in model._meta.concrete_fields]
    words = {
        "table": table,
        "refusal": SQLITE_REFUSAL.format(table=table),
        "superseded": "0",
        "erased": "0",
        "same": " OR ".join(_one_row(model)),
        "handed_over": f"""{_same(columns, "collection_id")} AND EXISTS (
            SELECT 1 FROM maintenance_handover AS under_way
            WHERE under_way.from_collection_id = OLD.collection_id
              AND under_way.to_collection_id = NEW.collection_id)""",
    }
    if "current" in columns:
        words["superseded"] = f"""(
            OLD."current" AND NOT NEW."current" AND {_same(columns, "current")})"""
    if "salts" in columns:
        words["erased"] = f"({_erased(columns)})"
    return [text.format(**words) for text in (SQLITE_UPDATE, SQLITE_DELETE, SQLITE_INSERT)]


def _same(columns, *but):
    return " AND ".join(f'OLD."{name}" IS NEW."{name}"' for name in columns if name not in but)


def _erased(columns):
    """Ask whether nothing changes but texts, each to what an erasure says, and their salts."""
    said = "SELECT 1 FROM maintenance_texterasure AS said WHERE said.erased_in = OLD.id"
    texts = [
        f"""(OLD."{name}" IS NEW."{name}" OR EXISTS ({said}
            AND said.field = '{name}' AND said.now_reads = NEW."{name}"))"""
        for name in columns
        if name in TEXTS
    ]
    return " AND ".join([_same(columns, *TEXTS, "salts"), f"EXISTS ({said})", *texts])


def _one_row(model):
    """Name the columns of which no two rows may have the same."""
    for field in model._meta.concrete_fields:
        if field.unique:
            yield f'there."{field.column}" = NEW."{field.column}"'
    for constraint in model._meta.total_unique_constraints:
        columns = [model._meta.get_field(name).column for name in constraint.fields]
        yield " AND ".join(f'there."{name}" = NEW."{name}"' for name in columns)
