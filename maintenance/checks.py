"""What `manage.py check` says of how the service is set up."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Warning
from django.db import connections

_HELD_BY_NOTHING = "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user"


def second_lock_holds(*, databases: Sequence[str] | None, **_: Any) -> list[CheckMessage]:
    """Warn where the service connects to PostgreSQL as a role that no policy holds."""
    warnings: list[CheckMessage] = []
    for alias in databases or ():
        if connections[alias].vendor != "postgresql":
            continue
        with connections[alias].cursor() as cursor:
            cursor.execute(_HELD_BY_NOTHING)
            if cursor.fetchone()[0]:
                text = "The database role is a superuser or has BYPASSRLS, which no policy holds."
                hint = "Connect as an ordinary role; README.md says how."
                warnings.append(Warning(text, hint=hint, id="idle_years.W001"))
    return warnings
