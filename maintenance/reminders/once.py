"""Secrets that open one thing once: drawn from the row they open, and kept nowhere.

A letter is written when it is sent, perhaps twice and by another worker, and must carry the same
secret each time; kept as text until then, a copy of the database would open what it opens. So a
secret is the keyed hash of its row's identifier under the service's secret key, and the row holds
its SHA-256, by which it is found.
"""

import base64
import hashlib
import uuid

from django.utils.crypto import salted_hmac


def secret_of(prefix: str, row: uuid.UUID) -> str:
    """Return the secret that opens a row, with the prefix by which a scanner can tell it."""
    made = salted_hmac("maintenance.reminders.once", prefix + row.hex, algorithm="sha256")
    return prefix + base64.urlsafe_b64encode(made.digest()).rstrip(b"=").decode()


def digest_of(secret: str) -> str:
    """Return what is kept of a secret; with 256 bits a slow hash would add nothing."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
