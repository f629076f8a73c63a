"""The pages' examples run against a service on SQLite, as `deploy/demo` sets it up.

They do not touch the database of the tests, so they run with the half of the suite on SQLite, once.
"""

import os

if os.environ.get("DATABASE_URL", "").startswith("postgres"):
    collect_ignore = ["test_pages_tell_the_truth.py"]
