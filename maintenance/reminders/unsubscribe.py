"""The address by which a member stops e-mail without signing in (RFC 8058)."""

import uuid

from django.core.signing import BadSignature, Signer

from maintenance.reminders.addresses import public_address


def unsubscribe_address(member: uuid.UUID, channel: str) -> str:
    """Return the public address that stops a channel for a member, and does nothing else."""
    token = _signer().sign(f"{member.hex}-{channel}")
    return public_address(f"/api/v1/unsubscribe/{token}")


def read_token(token: str) -> tuple[uuid.UUID, str] | None:
    """Return the member and channel of a token, None if it was not made here."""
    try:
        member, _, channel = _signer().unsign(token).partition("-")
        return uuid.UUID(hex=member), channel
    except (BadSignature, ValueError):
        return None


def _signer() -> Signer:
    return Signer(salt="maintenance.reminders.unsubscribe", sep=".")
