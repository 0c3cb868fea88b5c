"""The names and addresses by which this machine is reached from its own network."""

from __future__ import annotations

import fcntl
import ipaddress
import re
import socket
import struct
import sys

from continuity.bootstrap.console import CannotGoOn

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Network = ipaddress.IPv4Network | ipaddress.IPv6Network

# Nobody on the internet has an address in these: loopback, RFC 1918, RFC 3927 (link-local), RFC 6598 (behind
# a carrier's router), RFC 5737 (the first range, which virtual machines use), RFC 4193 (unique local IPv6).
PRIVATE_NETWORKS: tuple[Network, ...] = tuple(
    ipaddress.ip_network(text)
    for text in (
        "127.0.0.0/8",
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "100.64.0.0/10",
        "192.0.2.0/24",
        "::1/128",
        "fc00::/7",
    )
)
LOOPBACK = (ipaddress.ip_address("127.0.0.1"), ipaddress.ip_address("::1"))
EVERY_IPV4, EVERY_ADDRESS = "0.0.0.0", "::"  # noqa: S104 - the user asks for it

_NAME = re.compile(r"(?=.{1,253}$)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.)*[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
# The request "address of this network interface", and its argument: the name, then the address among zeros.
_GET_ADDRESS = 0x8915 if sys.platform == "linux" else 0xC0206921
_INTERFACE = struct.Struct("16s4x4s16x")


def is_private(address: Address) -> bool:
    return any(address in network for network in PRIVATE_NETWORKS)


def own_addresses() -> list[ipaddress.IPv4Address]:
    """The IPv4 addresses of this machine, but for loopback; first the one by which it reaches other networks.

    Asks only the machine itself, so that it works with no network beyond the trailer's.
    """
    found = [*_towards_other_networks(), *_of_interfaces()]
    return [address for address in dict.fromkeys(found) if not address.is_loopback]


def _towards_other_networks() -> list[ipaddress.IPv4Address]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Connecting a datagram socket sends nothing: it only asks which way such an address would go.
            probe.connect(("198.51.100.1", 9))
        except OSError:
            return []
        return [ipaddress.IPv4Address(probe.getsockname()[0])]


def _of_interfaces() -> list[ipaddress.IPv4Address]:
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        for _, name in socket.if_nameindex():
            try:
                answer = fcntl.ioctl(asking, _GET_ADDRESS, _INTERFACE.pack(name.encode(), b""))
            except OSError:
                continue  # it has no IPv4 address
            found.append(ipaddress.IPv4Address(_INTERFACE.unpack(answer)[1]))
    return found


def own_names() -> list[str]:
    """`localhost` and this machine's names, as far as a certificate can hold them.

    A host name of one label is taken with `.local` behind it only: an authority that may vouch for a name may
    do so for all below it, and a machine called `dev` would make that a whole domain of the internet.
    """
    host = socket.gethostname().lower().rstrip(".")
    names = ["localhost"]
    if _NAME.fullmatch(host):
        if "." in host:
            names.append(host)
        label = host.partition(".")[0]
        if label != "localhost":
            names.append(f"{label}.local")
    return list(dict.fromkeys(names))


def for_phones(given: list[str]) -> list[str]:
    """The addresses and names by which phones shall open the application, the most useful first.

    These are the `given` ones, or else all private IPv4 addresses that are found. Raises CannotGoOn with exit
    code 2 when one of them cannot be used, or none is found.
    """
    if given:
        return list(dict.fromkeys(_checked(text) for text in given))
    found = [str(address) for address in own_addresses() if is_private(address)]
    if not found:
        raise CannotGoOn(
            "This machine has no address on a private network: join the trailer's Wi-Fi, or name the address "
            "with --address.",
            2,
        )
    return found


def _checked(text: str) -> str:
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return _checked_name(text)
    if not _is_of_this_machine(address):
        raise CannotGoOn(f"{text} is not an address of this machine.", 2)
    if not is_private(address):
        raise CannotGoOn(
            f"{text} is not on a private network, and --lan is for these only: "
            "elsewhere, put a proxy in front that ends TLS.",
            2,
        )
    return str(address)


def _checked_name(text: str) -> str:
    name = text.lower().rstrip(".")
    if not _NAME.fullmatch(name):
        raise CannotGoOn(f"{text} is neither an address nor a name.", 2)
    if name not in own_names() and not name.endswith(".local"):
        own = ", ".join(own_names())
        raise CannotGoOn(f"{text} is not a name of this machine: it can be {own}, or end in .local.", 2)
    return name


def _is_of_this_machine(address: Address) -> bool:
    if address.is_unspecified or address.is_multicast:
        return False
    family = socket.AF_INET if address.version == 4 else socket.AF_INET6
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        try:
            probe.bind((str(address), 0))
        except OSError:
            return False
    return True


def to_serve_on(phones: list[str]) -> str:
    """The address to bind to so that all of these are served: every IPv4 one, or every one of both kinds."""
    return EVERY_ADDRESS if any(":" in text for text in phones) else EVERY_IPV4


def url(scheme: str, host: str, port: int) -> str:
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{port}/"
