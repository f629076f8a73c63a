"""Descriptions are changed in place, by those who say which version they change."""

from typing import Any, TypeVar, cast

from django.db.models import Model

from maintenance.services.refusals import Outdated

Row = TypeVar("Row", bound=Model)


def locked_at(row: Row, version: int) -> Row:
    """Read a row that counts its changes anew, lock it, and raise its version for the change.

    The lock lasts until the transaction ends. Raises `Outdated` where the row has another version
    by now: without this the slower of two writers would undo what the faster one did, unseen.
    Raises the model's `DoesNotExist` where somebody has removed it meanwhile. Of cars and of plans
    the lock is taken before that of any row that hangs on them (`cars.locked`, `plans.stored`).
    """
    # Rows that only refer to this one are not held up, nor do they hold this up.
    found: Any = type(row)._default_manager.select_for_update(no_key=True).get(pk=row.pk)
    if found.version != version:
        raise Outdated(expected=version, found=found.version)
    found.version += 1
    return cast(Row, found)
