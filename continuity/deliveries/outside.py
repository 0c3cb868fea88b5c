"""Posting to an address that somebody has typed in, without being led into the private network by it.

The name is resolved once, every address it stands for is looked at, and the connection goes to one of those
that were looked at: a name that stands for another address a moment later changes nothing. Redirects are not
followed and proxies of the environment not used.
"""

from __future__ import annotations

import http.client
import ipaddress
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from urllib.parse import urlsplit

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Resolver = Callable[[str, int], list[str]]

CONNECT_SECONDS = 10.0
WHOLE_SECONDS = 30.0
"""For the whole exchange: a receiver that drips one byte at a time is cut off."""

_TRANSLATED = [ipaddress.ip_network(net) for net in ("64:ff9b::/96", "64:ff9b:1::/48")]
"""IPv4 addresses inside IPv6 ones, for a translator on the network's edge (RFC 6052, RFC 8215)."""


class NotReachable(Exception):
    """Nothing was delivered; the message says why, in words for the people on the production."""


class PrivateAddress(NotReachable):
    """The address is, or may be, inside the private network, and the operator has not allowed that."""


@dataclass(frozen=True)
class Target:
    """An address split up. ``path`` holds the query too."""

    scheme: str
    host: str
    port: int
    path: str


@dataclass(frozen=True)
class Answer:
    """``retry_after`` is in seconds, where the receiver says so."""

    status: int
    retry_after: int | None = None


def target_of(url: str, *, plain_http: bool) -> Target:
    """Raises `NotReachable` for what is no address to post to. ``plain_http`` is for the private network."""
    if not url.isascii() or any(sign <= " " or sign in '\\"<>^`{|}' for sign in url):
        raise NotReachable("The address has signs in it that no address has.")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise NotReachable("This is not an address.") from None
    if parts.scheme not in ({"https", "http"} if plain_http else {"https"}):
        raise NotReachable("The address must begin with https://.")
    if not parts.hostname or parts.username is not None or parts.password is not None or parts.fragment:
        raise NotReachable("The address must be that of a host, without a name, password or #.")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    default = 443 if parts.scheme == "https" else 80
    if port == 0:
        raise NotReachable("This is not an address.")
    return Target(parts.scheme, parts.hostname, port or default, path)


def is_private(text: str) -> bool:
    """Whether an IP address is anything but one of the public internet: private, loopback, link-local,
    shared, reserved, multicast; also when it is wrapped in another (mapped, translated, 6to4, Teredo)."""
    address: Address = ipaddress.ip_address(text.partition("%")[0])
    if isinstance(address, ipaddress.IPv6Address):
        if any(address in net for net in _TRANSLATED):
            return True
        wrapped = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
        if any(inner is not None and is_private(str(inner)) for inner in wrapped):
            return True
        if address.ipv4_mapped:
            return False
    return not address.is_global or address.is_multicast


def resolved(host: str, port: int) -> list[str]:
    """Every IP address a name stands for. Raises `NotReachable`."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise NotReachable(f"{host} is not known.") from None
    return list(dict.fromkeys(str(each[4][0]) for each in found))


def check(target: Target, *, private_allowed: bool, resolve: Resolver = resolved) -> list[str]:
    """The addresses that may be connected to. Raises `NotReachable`, or `PrivateAddress` when one of them
    is private: a name with a public and a private address is not half all right."""
    addresses = resolve(target.host, target.port)
    if not addresses:
        raise NotReachable(f"{target.host} is not known.")
    if not private_allowed and any(is_private(address) for address in addresses):
        raise PrivateAddress(
            f"{target.host} is inside the private network, and the operator has not allowed that."
        )
    return addresses


def post(
    url: str,
    body: bytes,
    headers: Mapping[str, str],
    *,
    private_allowed: bool,
    resolve: Resolver = resolved,
    whole_seconds: float = WHOLE_SECONDS,
) -> Answer:
    """Post and read the answer's status; what else it says is not read. Raises `NotReachable`."""
    target = target_of(url, plain_http=private_allowed)
    addresses = check(target, private_allowed=private_allowed, resolve=resolve)
    try:
        connection = _Checked(target, addresses)
        with cut_off_after(whole_seconds, connection.cut_off):
            try:
                connection.request("POST", target.path, body=body, headers=dict(headers))
                response = connection.getresponse()
                return Answer(response.status, _seconds(response.getheader("Retry-After")))
            finally:
                connection.close()
    except TimeoutError:
        raise NotReachable(f"{target.host} did not answer in time.") from None
    except ssl.SSLCertVerificationError as fault:
        raise NotReachable(f"The certificate of {target.host} is not good: {fault.verify_message}.") from None
    except (OSError, http.client.HTTPException, ValueError) as fault:
        raise NotReachable(f"{target.host} could not be reached: {why_not(fault)}.") from None


def why_not(fault: Exception) -> str:
    """Why nothing was delivered, in words, with no full stop."""
    match fault:
        case ConnectionRefusedError():
            return "nothing answers there"
        case socket.gaierror():
            return "its name is not known"
        case ssl.SSLCertVerificationError():
            return f"its certificate is not good: {fault.verify_message}"
        case smtplib.SMTPNotSupportedError():
            return "it does not offer what is asked of it, such as an encrypted connection"
        case ssl.SSLError():
            return "the encrypted connection failed"
        case ConnectionError() | smtplib.SMTPServerDisconnected():
            return "the connection broke off"
        case _:
            return f"the connection failed ({type(fault).__name__})"


@contextmanager
def cut_off_after(seconds: float, cut_off: Callable[[], None]) -> Iterator[None]:
    """Have ``cut_off`` called unless this ends in time. Timeouts of a socket are for one piece each."""
    timer = threading.Timer(seconds, cut_off)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def cut_off(sock: socket.socket | None) -> None:
    """End a connection that another thread is reading from."""
    if sock is not None:
        with suppress(OSError):
            # Not the method of an encrypted one, which the other thread is in the middle of.
            socket.socket.shutdown(sock, socket.SHUT_RDWR)


class _Checked(http.client.HTTPConnection):
    """A connection to one of the addresses that were looked at; the name is for the certificate and the Host
    header only."""

    def __init__(self, target: Target, addresses: list[str]) -> None:
        super().__init__(target.host, target.port, timeout=CONNECT_SECONDS)
        self.default_port = 443 if target.scheme == "https" else 80
        self._target, self._addresses = target, addresses

    def connect(self) -> None:
        fault: OSError | None = None
        for address in self._addresses:
            try:
                plain = socket.create_connection((address, self._target.port), CONNECT_SECONDS)
            except OSError as one:
                fault = one
                continue
            self.sock = plain
            if self._target.scheme == "https":
                context = ssl.create_default_context()
                self.sock = context.wrap_socket(plain, server_hostname=self._target.host)
            return
        raise fault or OSError("no address")

    def cut_off(self) -> None:
        cut_off(self.sock)


def _seconds(text: str | None) -> int | None:
    """Retry-After in seconds; a date there is not followed."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 8 else None
