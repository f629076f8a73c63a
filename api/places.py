"""Places in the feed of changes, sealed so that nobody can read how much others write.

A place holds numbers that count the writes of all collections, and names the cluster of databases.
Sealed twice, one place reads differently each time, so that two of them can't be compared either.
"""

import base64
import functools
import hashlib
import re
import struct
from typing import Final

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings

from maintenance.queries.changes import Elsewhere, Place

#: What a sealed place looks like: Fernet's letters for three numbers of eight bytes.
PATTERN: Final = "[A-Za-z0-9_-]{119}="
_NUMBERS: Final = struct.Struct(">QQQ")


def sealed(cluster: int, place: Place) -> str:
    """Return the text that stands for a place of a cluster of databases."""
    return _lock().encrypt(_NUMBERS.pack(cluster, *place)).decode()


def opened(text: str) -> tuple[int, Place]:
    """Return the cluster and the place that a text stands for.

    Raises
    ------
    ValueError
        Where it does not look like a place.
    Elsewhere
        Where it was sealed with a secret that is neither the present one nor among the fallbacks.
    """
    if not re.fullmatch(PATTERN, text):
        raise ValueError(text)
    try:
        cluster, xid, line = _NUMBERS.unpack(_lock().decrypt(text))
    except InvalidToken as invalid:
        raise Elsewhere from invalid
    return cluster, Place(xid, line)


def _lock() -> MultiFernet:
    return _lock_of(settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)


# A page of the feed seals a place a line.
@functools.lru_cache(maxsize=1)
def _lock_of(*secrets: str) -> MultiFernet:
    return MultiFernet([Fernet(_key(secret)) for secret in secrets])


def _key(secret: str) -> bytes:
    return base64.urlsafe_b64encode(hashlib.sha256(f"changes\0{secret}".encode()).digest())
