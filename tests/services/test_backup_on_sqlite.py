"""A copy of the SQLite file, restored: it verifies, and its guards stand."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    return tmp_path_factory.mktemp("backup")


def manage(database, *arguments):
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{database}",
        "SECRET_KEY": "for this test only",
    }
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
    )


@pytest.fixture(scope="module")
def restored(place):
    """A database with a history, backed up while it is open, and put back under another name."""
    there = place / "there.sqlite3"
    assert manage(there, "migrate", "--verbosity", "0").returncode == 0
    assert manage(there, "import_history", "fixtures/example-history.json").returncode == 0
    with sqlite3.connect(there) as source:
        source.execute("VACUUM INTO ?", [str(place / "backup.sqlite3")])
    return (place / "backup.sqlite3").rename(place / "restored.sqlite3")


def test_a_backup_restored_verifies(restored):
    done = manage(restored, "verify_history")
    assert (done.returncode, "all as recorded" in done.stdout) == (0, True)


def test_its_evidence_still_cannot_be_changed(restored):
    with sqlite3.connect(restored) as database, pytest.raises(sqlite3.IntegrityError):
        database.execute("UPDATE maintenance_entry SET action = 'inspect'")
    with sqlite3.connect(restored) as database, pytest.raises(sqlite3.IntegrityError):
        database.execute("DELETE FROM maintenance_serviceevent")


def test_a_backup_that_was_tampered_with_does_not_verify(restored):
    with sqlite3.connect(restored) as database:
        for (name,) in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name LIKE '%entry'"
        ).fetchall():
            database.execute(f"DROP TRIGGER {name}")
        database.execute("UPDATE maintenance_entry SET note = 'as new' WHERE sequence = 0")
    done = manage(restored, "verify_history")
    assert (done.returncode, "changed: service event" in done.stderr) == (1, True)
