"""Where a webhook may be sent: looked at when it is asked for, and again before each try.

A name may lead to another address at any time. So it is looked up once for a try, every address
that it has is judged, and the connection goes to the one that was judged.
"""

from __future__ import annotations

import re
import socket
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from typing import Final
from urllib.parse import urlsplit

from service.fetching.template import is_loopback

MOST_CHARACTERS: Final = 2_048  # as the store keeps it
HTTPS_PORT, HTTP_PORT = 443, 80
PRINTABLE: Final = re.compile(r"[!-~]+")  # ASCII, no space
REST: Final = re.compile(r"(?:[A-Za-z0-9._~!$&'()*+,;=:@/?-]|%[0-9A-Fa-f]{2})*")  # RFC 3986, 3.3
NAME: Final = re.compile(r"[A-Za-z0-9.:-]+")
NAT64: Final = IPv6Network("64:ff9b::/96")
LOWEST_32_BITS: Final = 0xFFFF_FFFF
IpAddress = IPv4Address | IPv6Address
LookUp = Callable[[str, int], Sequence[str]]


class TargetRefused(Exception):
    """Nothing is sent there, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """An address that was judged by its text."""

    scheme: str
    host: str
    port: int
    path: str

    @property
    def uri(self) -> str:
        """The address as a receiver can put it together from the request: what is signed."""
        return f"{self.scheme}://{self.authority}{self.path}"

    @property
    def authority(self) -> str:
        """Host and port as the Host header has them."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        usual = HTTPS_PORT if self.scheme == "https" else HTTP_PORT
        return host if self.port == usual else f"{host}:{self.port}"


def target_of(url: str, *, hosts: Collection[str]) -> Target:
    """What is meant by an address, if it may be sent to. Raises: TargetRefused."""
    if not hosts:
        raise TargetRefused("webhooks are not set up: APPROACH_WEBHOOK_HOSTS names no host")
    if len(url) > MOST_CHARACTERS or PRINTABLE.fullmatch(url) is None:
        raise TargetRefused(f"must be printable ASCII of at most {MOST_CHARACTERS} characters")
    try:
        parts = urlsplit(url)
        host, port = (parts.hostname or "").lower(), parts.port
    except ValueError:
        raise TargetRefused("is not an address") from None
    if "@" in parts.netloc or parts.fragment or NAME.fullmatch(host) is None:
        raise TargetRefused("must have a host, and neither user nor fragment")
    if REST.fullmatch(parts.path) is None or REST.fullmatch(parts.query) is None:
        raise TargetRefused("its path or query has characters that must be written as %XX")
    if host not in hosts:
        raise TargetRefused("its host is not one that APPROACH_WEBHOOK_HOSTS names")
    if parts.scheme != "https" and not (parts.scheme == "http" and is_loopback(host)):
        raise TargetRefused("must begin with https:// (http:// is for this machine only)")
    usual = HTTPS_PORT if parts.scheme == "https" else HTTP_PORT
    query = f"?{parts.query}" if parts.query else ""
    return Target(
        scheme=parts.scheme,
        host=host,
        port=usual if port is None else port,
        path=(parts.path or "/") + query,
    )


def address_of(target: Target, *, hosts: Collection[str], look_up: LookUp) -> str:
    """The address to connect to. Raises: TargetRefused; OSError where the name is not known.

    All that a name leads to must be public, unless the address itself is listed, or this machine is
    by its name.
    """
    found = look_up(target.host, target.port)
    for each in found:
        if not _may_be_called(ip_address(each), target.host, hosts):
            raise TargetRefused("its name leads to an address that is not public")
    if not found:
        raise OSError("no address")
    return found[0]


def looked_up(host: str, port: int) -> Sequence[str]:
    """The addresses of a name, as the system finds them. Raises: OSError."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except UnicodeError:  # a part of the name is too long
        raise OSError("not a name") from None
    return tuple(dict.fromkeys(str(address[0]).partition("%")[0] for *_, address in found))


def _may_be_called(address: IpAddress, host: str, hosts: Collection[str]) -> bool:
    plain = _unwrapped(address)
    if is_loopback(host) and plain.is_loopback:
        return True  # the host is listed, and says itself that it is this machine
    return str(plain) in hosts or str(address) in hosts or is_public(plain)


def is_public(address: IpAddress) -> bool:
    """Whether an address is one of the Internet's, of a single receiver."""
    site = isinstance(address, IPv6Address) and address.is_site_local  # given up, still private
    return address.is_global and not (site or address.is_multicast or address.is_reserved)


def _unwrapped(address: IpAddress) -> IpAddress:
    """The IPv4 address that an IPv6 address stands for: mapped, 6to4 (RFC 3056), NAT64 (RFC 6052).

    What goes there goes to that address.
    """
    if isinstance(address, IPv4Address):
        return address
    if address.ipv4_mapped is not None:
        return address.ipv4_mapped
    if address.sixtofour is not None:
        return address.sixtofour
    return IPv4Address(int(address) & LOWEST_32_BITS) if address in NAT64 else address
