"""Writers that meet in the database: the one that lost begins once more, on what is there by then.

Each change is one transaction, so nothing is left of one that lost. Made again it finds what the
other one did, and is refused for it in the usual words, or succeeds.
"""

import functools
import logging
from collections.abc import Callable
from typing import Any, TypeVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import IntegrityError, OperationalError

Answer = TypeVar("Answer")
_log = logging.getLogger(__name__)

#: The lost one of a deadlock or of a race for a row, by the SQLSTATE of PostgreSQL, appendix A:
#: foreign_key_violation, unique_violation, serialization_failure, deadlock_detected,
#: lock_not_available.
_LOST = {"23503", "23505", "40001", "40P01", "55P03"}
#: What SQLite says when it has waited its time for another writer.
_BUSY = "SQLITE_BUSY"


def collided(exc: Exception) -> bool:
    """Say whether a change failed because of another one at the same time, or may have."""
    if isinstance(exc, ObjectDoesNotExist):
        return True
    cause = exc.__cause__
    return (
        isinstance(exc, IntegrityError | OperationalError)
        and getattr(cause, "sqlstate", None) in _LOST
    )


def kept_waiting(exc: Exception) -> bool:
    """Say whether the database put a change off in favour of others."""
    if not isinstance(exc, OperationalError):
        return False
    name = getattr(exc.__cause__, "sqlite_errorname", "")
    return collided(exc) or str(name).startswith(_BUSY)


def twice_if_need_be(act: Callable[..., Answer]) -> Callable[..., Answer]:
    """Return a change that is made again where it collided; what fails twice has another cause."""

    @functools.wraps(act)
    def made(*args: Any, **kwargs: Any) -> Answer:
        try:
            return act(*args, **kwargs)
        except Exception as lost:
            if not collided(lost):
                raise
            _log.info("made again after a collision: %s", lost)
        return act(*args, **kwargs)

    return made
