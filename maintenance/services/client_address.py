"""From which network address a request came, told so that it can't be made up."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest

#: A home or a host is given this much of IPv6 and changes its address within at will.
_IPV6_PREFIX = 64


def client_address(request: HttpRequest) -> str | None:
    """Return the address of who asks, of IPv6 the network; None where there is none to tell.

    With TRUSTED_PROXIES proxies in front the header X-Forwarded-For is read from its end, where
    they wrote; what stands before was sent by the client and may say anything.
    """
    proxies = settings.TRUSTED_PROXIES
    told = [each.strip() for each in request.headers.get("X-Forwarded-For", "").split(",")]
    if proxies and len(told) >= proxies and (address := network_of(told[-proxies])):
        return address
    return network_of(request.META.get("REMOTE_ADDR", ""))


def network_of(text: str) -> str | None:
    """Return an address as failures are counted by it, or None where the text is none."""
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return None
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped:
            return str(address.ipv4_mapped)
        return str(ipaddress.ip_network((int(address), _IPV6_PREFIX), strict=False)[0])
    return str(address)
