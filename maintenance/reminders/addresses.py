"""Addresses of this service as members reach it.

The paths stand here as text: a worker that asked Django for them would load every view there is,
and spend more time on that than on the mail.
"""

from django.conf import settings


def public_address(path: str) -> str:
    """Return the address of a path, such as stands in an e-mail."""
    return f"{settings.PUBLIC_URL.rstrip('/')}{path}"
