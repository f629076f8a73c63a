"""Let the database itself refuse two current lay-ups of one car that share a day.

A service that checks first and writes later can be overtaken by a second writer; this can't.
"""

from django.db import migrations

POSTGRESQL = """
CREATE EXTENSION IF NOT EXISTS btree_gist;
ALTER TABLE maintenance_layup ADD CONSTRAINT no_overlapping_lay_ups
EXCLUDE USING gist (vehicle_id WITH =, daterange(from_on, to_on) WITH &&)
WHERE (current AND NOT withdrawn);
"""

SQLITE = """
CREATE TRIGGER no_overlapping_lay_ups_{event} BEFORE {event} ON maintenance_layup
WHEN NEW.current AND NOT NEW.withdrawn AND EXISTS (
  SELECT 1 FROM maintenance_layup AS other
  WHERE other.vehicle_id = NEW.vehicle_id AND other.id <> NEW.id
    AND other.current AND NOT other.withdrawn
    AND other.from_on < COALESCE(NEW.to_on, '9999-12-31')
    AND NEW.from_on < COALESCE(other.to_on, '9999-12-31'))
BEGIN SELECT RAISE(ABORT, 'no_overlapping_lay_ups'); END
"""


def forwards(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(POSTGRESQL)
    else:
        for event in ("INSERT", "UPDATE"):
            schema_editor.execute(SQLITE.format(event=event))


def backwards(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "ALTER TABLE maintenance_layup DROP CONSTRAINT no_overlapping_lay_ups"
        )
    else:
        for event in ("insert", "update"):
            schema_editor.execute(f"DROP TRIGGER no_overlapping_lay_ups_{event}")


class Migration(migrations.Migration):
    dependencies = [("maintenance", "0001_initial")]

    operations = [migrations.RunPython(forwards, backwards)]
