"""Asking PostgreSQL as a role that row-level security holds, as the service should.

The tests connect as a superuser, whom nothing holds. On SQLite there are no roles, and it is as if
nothing were here.
"""

from contextlib import contextmanager

from django.db import connection

_ROLE = """
CREATE ROLE {role} NOSUPERUSER NOBYPASSRLS;
GRANT ALL ON ALL TABLES IN SCHEMA public TO {role};
GRANT ALL ON ALL SEQUENCES IN SCHEMA public TO {role};
SET CONSTRAINTS ALL IMMEDIATE;
SET CONSTRAINTS ALL DEFERRED;
"""


@contextmanager
def as_ordinary_role():
    """Within a test's transaction, with which the role goes again."""
    if connection.vendor != "postgresql":
        yield
        return
    # Roles belong to the whole server, on which other tests run at the same time.
    role = f"ordinary_{connection.settings_dict['NAME']}"
    with connection.cursor() as cursor:
        cursor.execute(_ROLE.format(role=role))
        cursor.execute(f"SET ROLE {role}")
        yield
        cursor.execute("RESET ROLE")
