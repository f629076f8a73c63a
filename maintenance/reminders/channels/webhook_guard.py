"""Which addresses a webhook may reach.

Whoever adds a webhook has this service send requests from inside its own network. Without these
refusals they could reach what only machines there may reach: databases, printers, and the
services at which cloud machines fetch their keys.
"""

import ipaddress
import socket
from collections.abc import Callable, Iterable
from typing import NamedTuple
from urllib.parse import urlsplit

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Resolve = Callable[[str, int], list[str]]

_REFUSED = tuple(
    map(
        ipaddress.ip_network,
        (
            # An IPv6 address that carries an IPv4 address would lead around the checks of IPv4.
            "::/96",
            "::ffff:0:0/96",  # RFC 4291, section 2.5.5
            "64:ff9b::/96",  # RFC 6052
            "64:ff9b:1::/48",  # RFC 8215
            "2001::/32",  # RFC 4380
            "2002::/16",  # RFC 3056
            "fec0::/10",  # RFC 3879: site-local, retired and still routed in places
            "3fff::/20",  # RFC 9637: documentation
            "5f00::/16",  # RFC 9602: segment routing within one operator
            "192.0.0.0/24",  # RFC 6890: protocol assignments
            "192.88.99.0/24",  # RFC 7526: retired relays
            # Common practice: public by its number, and yet a cloud's own service to its machines.
            "168.63.129.16/32",
        ),
    )
)


class Target(NamedTuple):
    """Where a request goes: the parts of an address that was found in order."""

    https: bool
    host: str
    port: int
    path: str


class NotAllowed(Exception):
    """An address is not to be reached, whatever answers there."""


def target_of(url: str, *, allowed_hosts: Iterable[str]) -> Target:
    """Return where an address leads, as far as can be told without asking for the host.

    Raises
    ------
    NotAllowed
        Not HTTPS, carries a user or a fragment, names no host, this machine itself or a number
        that is refused.
    """
    if not url.isascii() or any(ord(each) <= 0x20 or each == "\x7f" for each in url):
        raise NotAllowed("is no address; write it in ASCII, without blanks")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise NotAllowed("is no address that can be read") from error
    host = (parts.hostname or "").rstrip(".")
    allowed = _named(host, allowed_hosts)
    if parts.scheme != "https" and not (allowed and parts.scheme == "http"):
        raise NotAllowed("must begin with https://")
    if not host or parts.username is not None or parts.fragment:
        raise NotAllowed("must name a host, and neither user nor fragment")
    if not allowed:
        _require_elsewhere(host)
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Target(
        parts.scheme == "https", host, port or (443 if parts.scheme == "https" else 80), path
    )


def require_public(
    target: Target, addresses: Iterable[str], *, allowed_hosts: Iterable[str]
) -> None:
    """Refuse a host that was resolved to any address that is not public.

    One is enough: a name with a public and a private address is an attempt. The caller connects
    to these very addresses and does not ask for the name again, which could by then be answered
    otherwise.

    Raises
    ------
    NotAllowed
        The host is not named by the setting, and has an address that is not public.
    """
    if not _named(target.host, allowed_hosts):
        for text in addresses:
            _require_public(ipaddress.ip_address(text.partition("%")[0]))


def resolved(host: str, port: int) -> list[str]:
    """Ask the system for the addresses of a host."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(place[0]) for *_, place in found))


def _require_elsewhere(host: str) -> None:
    """Refuse a host that can be told to be private by its spelling alone."""
    if host.lower() == "localhost" or host.lower().endswith(".localhost"):  # RFC 6761, section 6.3
        raise NotAllowed("leads to the machine of this service itself")
    if (number := _number(host)) is not None:
        _require_public(number)


def _require_public(address: Address) -> None:
    refused = not address.is_global or address.is_multicast
    if refused or any(address in network for network in _REFUSED):
        raise NotAllowed(f"leads to {address}, which is no public address")


def _named(host: str, allowed_hosts: Iterable[str]) -> bool:
    return host.lower() in {each.lower() for each in allowed_hosts}


def _number(host: str) -> Address | None:
    try:
        return ipaddress.ip_address(host)
    except ValueError:
        pass
    try:
        # The older spellings, such as 127.1 or 0x7f000001, which the system's resolver reads too.
        return ipaddress.ip_address(socket.inet_aton(host))
    except OSError:
        return None
