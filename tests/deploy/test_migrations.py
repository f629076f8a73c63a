"""Every migration can be taken back, one by one, with cars on record, and loses none of them."""

import os
import subprocess
import sys
from pathlib import Path

from django.db.migrations.loader import MigrationLoader

from tests.own_database import own_database

ROOT = Path(__file__).parents[2]
#: Makes the tables and the triggers; before it there is nothing that could be lost.
FIRST = "0003_evidence_stays"

#: One process for all the steps: most of a command's time is its start.
BACK_AND_FORTH = """
import io
import sys
import django
django.setup()
from django.core.management import call_command

def said(*arguments):
    out = io.StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()

def told():
    return said("export_history"), said("due", "--format", "json")

said("migrate")
said("import_history", "fixtures/example-history.json")
before = told()
for name in sys.argv[1:]:
    said("migrate", "maintenance", name)
said("migrate")
said("verify_history")
assert told() == before, "the history or the due list has changed"
said("migrate", "maintenance", "zero")
assert "[X]" not in said("showmigrations", "maintenance"), "not all was taken back"
"""


def migrations():
    """Names of the service's migrations, the oldest first."""
    names = MigrationLoader(None).disk_migrations
    return sorted(name for app, name in names if app == "maintenance")


def test_every_step_of_a_migration_can_be_taken_back():
    steps = [
        (name, operation)
        for (app, name), migration in MigrationLoader(None).disk_migrations.items()
        if app == "maintenance"
        for operation in migration.operations
    ]
    assert [f"{name}: {step}" for name, step in steps if not step.reversible] == []


def test_taking_back_and_doing_again_leaves_cars_and_their_chain_as_they_were(tmp_path):
    newest_first = list(reversed(migrations()[migrations().index(FIRST) :]))
    with own_database(tmp_path) as url:
        ran = subprocess.run(
            [sys.executable, "-c", BACK_AND_FORTH, *newest_first],
            cwd=ROOT,
            env=os.environ
            | {"DATABASE_URL": url, "SECRET_KEY": "only for a test"}
            | {"DJANGO_SETTINGS_MODULE": "deploy.settings"},
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )
    assert ran.returncode == 0, ran.stderr[-3000:]
