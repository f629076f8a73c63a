"""What only PostgreSQL can do; on SQLite there is nothing here to run."""

from django.db import connection

collect_ignore_glob = [] if connection.vendor == "postgresql" else ["test_*.py"]
