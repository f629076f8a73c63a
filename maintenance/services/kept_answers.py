"""Answers kept under the key of a client, so that a call sent twice is done once."""

import datetime
import hashlib
from dataclasses import dataclass
from typing import Final

from django.db import connection, transaction

from maintenance.models import Account, KeptAnswer

#: How long an answer is kept; its key may then be used for something else.
KEPT: Final = datetime.timedelta(hours=24)


class UnderWay(Exception):
    """Another call under this key has not ended yet."""


class OtherRequest(Exception):
    """The key was used for another request."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A call under a key: whose, and what stands for its method, address and body."""

    account: Account
    key: str
    fingerprint: str
    at: datetime.datetime


def hold(asked: Asked) -> None:
    """Keep other calls under this key out until the transaction ends.

    To be called first in the transaction that does what is asked. On SQLite such a transaction
    begins by waiting for every other writer, so a second call finds the answer of the first.

    Raises
    ------
    UnderWay
        Where another transaction holds the key; at once, without waiting.
    """
    if connection.vendor != "postgresql":
        return
    name = f"{asked.account.pk} {asked.key}".encode()
    lock = int.from_bytes(hashlib.sha256(name).digest()[:8], signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [lock])
        if not cursor.fetchone()[0]:
            raise UnderWay


def answered_before(asked: Asked) -> KeptAnswer | None:
    """Return what was answered under this key, if it is not yet past its time.

    Raises
    ------
    OtherRequest
        Where the key was used for a request that differs from this one.
    """
    found = KeptAnswer.objects.filter(
        account=asked.account, key=asked.key, kept_at__gt=asked.at - KEPT
    ).first()
    if found is not None and found.fingerprint != asked.fingerprint:
        raise OtherRequest
    return found


@transaction.atomic
def keep_answer(
    *, asked: Asked, status: int, media_type: str, location: str, body: bytes
) -> KeptAnswer:
    """Keep an answer, in the place of one past its time; of two at once the first one stays."""
    said = {
        "fingerprint": asked.fingerprint,
        "status": status,
        "media_type": media_type,
        "location": location,
        "body": body,
        "kept_at": asked.at,
    }
    mine = KeptAnswer.objects.filter(account=asked.account, key=asked.key)
    mine.filter(kept_at__lte=asked.at - KEPT).delete()
    found, _ = KeptAnswer.objects.get_or_create(account=asked.account, key=asked.key, defaults=said)
    return found


def forget_answers(*, at: datetime.datetime) -> int:
    """Remove the answers that are past their time; return how many there were."""
    gone, _ = KeptAnswer.objects.filter(kept_at__lte=at - KEPT).delete()
    return gone
