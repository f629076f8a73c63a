"""One request to an address that a member named: bounded in time, size and redirects.

Proxies and credentials of the machine's environment are not used: they would take the request to
other addresses than those that were checked.
"""

import http.client
import socket
import ssl
import threading
import time
from collections.abc import Iterable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from http import HTTPStatus
from typing import Final
from urllib.parse import urljoin

from maintenance.reminders.channels import webhook_guard
from maintenance.reminders.channels.webhook_guard import Resolve, Target

TIME_LIMIT: Final = 10.0
"""For all of it, redirects included [s]."""
MOST_REDIRECTS: Final = 2
#: Only these repeat the request as it was (RFC 9110, sections 15.4.8 and 15.4.9).
_REPEATING: Final = (HTTPStatus.TEMPORARY_REDIRECT, HTTPStatus.PERMANENT_REDIRECT)


@dataclass(frozen=True)
class Answered:
    """What the other side said: its body is never read, so it can be of any size."""

    status: int
    retry_after: str = ""


class Failed(Exception):
    """No answer came, or none that can be used."""


def post(
    url: str,
    *,
    body: bytes,
    headers: Mapping[str, str],
    allowed_hosts: Iterable[str] = (),
    time_limit: float = TIME_LIMIT,
    resolve: Resolve = webhook_guard.resolved,
) -> Answered:
    """Send a body and return the status answered.

    Raises
    ------
    NotAllowed
        The address, or one it redirects to, is not to be reached.
    Failed
        The host is not found, does not answer in time, or redirects too often.
    """
    ends = time.monotonic() + time_limit
    for _ in range(MOST_REDIRECTS + 1):
        target = webhook_guard.target_of(url, allowed_hosts=allowed_hosts)
        addresses = _addresses(target, resolve, ends)
        webhook_guard.require_public(target, addresses, allowed_hosts=allowed_hosts)
        response = _exchange(target, addresses, body, headers, ends)
        location = response.getheader("Location")
        if response.status not in _REPEATING or not location:
            return Answered(response.status, response.getheader("Retry-After", ""))
        url = _joined(url, location)
    raise Failed(f"redirects more than {MOST_REDIRECTS} times")


def _addresses(target: Target, resolve: Resolve, ends: float) -> list[str]:
    """Resolve in a thread, because the system's resolver takes no time limit."""
    future: Future[list[str]] = Future()

    def ask() -> None:
        try:
            future.set_result(resolve(target.host, target.port))
        except Exception as error:
            future.set_exception(error)

    threading.Thread(target=ask, daemon=True).start()
    try:
        return future.result(timeout=_left(ends))
    except TimeoutError as error:
        raise Failed("the name of the host is not resolved in time") from error
    except (OSError, UnicodeError) as error:
        raise Failed(f"the host {target.host} is not found") from error


def _exchange(
    target: Target, addresses: list[str], body: bytes, headers: Mapping[str, str], ends: float
) -> http.client.HTTPResponse:
    """Send the request over a connection to one of the addresses; read the answer's head."""
    connection = http.client.HTTPConnection(target.host, target.port)
    if target.https:
        connection.default_port = http.client.HTTPS_PORT
    try:
        sock = connection.sock = _connected(target, addresses, ends)
        # A time limit of the socket is for each read by itself: one byte now and then would keep
        # the connection open for ever.
        with _cut_off(sock, ends):
            if isinstance(sock, ssl.SSLSocket):
                sock.do_handshake()
            connection.request("POST", target.path, body=body, headers=dict(headers))
            response = connection.getresponse()
            if time.monotonic() >= ends:
                # Cut off among the headers, which reads as if they had ended there.
                raise TimeoutError
            return response
    except TimeoutError as error:
        raise Failed("does not answer in time") from error
    except (OSError, http.client.HTTPException) as error:
        if time.monotonic() >= ends:
            raise Failed("does not answer in time") from error
        raise Failed(f"breaks off: {_plainly(error)}") from error
    finally:
        connection.close()


def _connected(target: Target, addresses: list[str], ends: float) -> socket.socket:
    error: Exception = Failed("has no address")
    for address in addresses:
        try:
            sock = socket.create_connection((address, target.port), timeout=_left(ends))
        except OSError as refused:
            error = refused
            continue
        if not target.https:
            return sock
        # The handshake comes later, under the same time limit as the rest.
        return ssl.create_default_context().wrap_socket(
            sock, server_hostname=target.host, do_handshake_on_connect=False
        )
    raise error


class _cut_off:
    """Shuts a socket when its time is up, whatever it is doing."""

    def __init__(self, sock: socket.socket, ends: float) -> None:
        sock.settimeout(_left(ends))
        self._timer = threading.Timer(_left(ends), self._shut, (sock,))
        self._timer.daemon = True

    def __enter__(self) -> None:
        self._timer.start()

    def __exit__(self, *args: object) -> None:
        self._timer.cancel()

    @staticmethod
    def _shut(sock: socket.socket) -> None:
        try:
            # Not `sock.shutdown`, which would take the cipher away under the reading thread.
            socket.socket.shutdown(sock, socket.SHUT_RDWR)
        except OSError:
            pass  # closed by itself meanwhile


def _joined(url: str, location: str) -> str:
    try:
        return urljoin(url, location)
    except ValueError as error:
        raise Failed("redirects to something that is no address") from error


def _plainly(error: Exception) -> str:
    """Return what went wrong without the words of the other side, which may be anything."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return type(error).__name__


def _left(ends: float) -> float:
    """Return how much time is left [s]; a limit of nothing would mean none."""
    return max(ends - time.monotonic(), 0.001)
