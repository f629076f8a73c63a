"""Put a due item off, or say otherwise. It moves no day, hides nothing, and is shown beside it.

Every verb takes one transaction under the lock of the car. Nothing is recomputed: no answer
depends on it.
"""

import datetime
from collections.abc import Iterator

from django.db import transaction

from maintenance.models import Account, DueItem, Postponement
from maintenance.queries.access import may_put_off, sight_of
from maintenance.services.cars import locked
from maintenance.services.checks.figures import text_problems
from maintenance.services.evidence import supersede
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.rows import Origin, write


@transaction.atomic
def put_off(
    *,
    due_item: DueItem,
    until: datetime.date,
    why: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Postponement:
    """Put a due item off until a day, that day included.

    One put off already is put off anew, and the earlier word superseded. Refused: a day before
    today, a missing reason, and a safety item where `by` is no officer of the collection.
    """
    vehicle = locked(due_item.vehicle)
    # Its cycle may have ended since the caller read it, in which case there is another to put off.
    due_item = DueItem.objects.get(pk=due_item.pk)
    refuse_if_any([*_right_problems(due_item, by), *_problems(until, why, today)])
    standing = Postponement.objects.filter(
        vehicle=vehicle,
        item_key=due_item.key,
        cycle=due_item.cycle,
        current=True,
        withdrawn=False,
    ).first()
    origin = Origin(by=by, at=at, supersedes=standing, reason=why if standing else "")
    supersede(origin)
    row = Postponement(
        **origin.columns(vehicle),
        item_key=due_item.key,
        cycle=due_item.cycle,
        kind=due_item.kind,
        position=due_item.position,
        rule=due_item.rule,
        until=until,
        why=why,
    )
    write(row)
    return row


def _right_problems(due_item: DueItem, by: Account | None) -> Iterator[Problem]:
    if by is not None and not may_put_off(sight_of(by), due_item):
        yield Problem("", "A keeper alone does not put off a safety item; an officer can.")


def _problems(until: datetime.date, why: str, today: datetime.date) -> Iterator[Problem]:
    yield from text_problems("/why", why, required=True)
    if until < today:
        yield Problem("/until", f"{until} is before today, {today}; name a day still to come")
