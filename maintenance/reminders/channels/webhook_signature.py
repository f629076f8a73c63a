"""Signatures by the Standard Webhooks scheme, version 1: symmetric, HMAC-SHA256."""

import base64
import datetime
import hashlib
import hmac
import secrets
from collections.abc import Iterable

PREFIX = "whsec_"
_KEY_BYTES = 32


def new_secret() -> str:
    """Return a new secret in the form in which receivers take it."""
    return PREFIX + base64.b64encode(secrets.token_bytes(_KEY_BYTES)).decode()


def signed_headers(
    *, message_id: str, at: datetime.datetime, body: bytes, secret_texts: Iterable[str]
) -> dict[str, str]:
    """Return the headers that go with a body.

    Identifier, instant and body are signed together, the body as the very bytes that are sent.
    Each live secret signs: a receiver accepts the message if any signature is by a secret it has.
    """
    instant = str(int(at.timestamp()))
    content = b".".join((message_id.encode(), instant.encode(), body))
    signatures = (_signature(text, content) for text in secret_texts)
    return {
        "webhook-id": message_id,
        "webhook-timestamp": instant,
        "webhook-signature": " ".join(signatures),
    }


def _signature(secret_text: str, content: bytes) -> str:
    key = base64.b64decode(secret_text.removeprefix(PREFIX))
    return "v1," + base64.b64encode(hmac.digest(key, content, hashlib.sha256)).decode()
