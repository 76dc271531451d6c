"""Which addresses may be told of events: public ones over https, and what the settings allow beside.

`refuse_url` says what can be said of a URL without asking anybody; `reachable` is asked when a connection is
made, and what it gives is what is connected to, so that a name can't lead elsewhere in between.
"""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from urllib3.exceptions import LocationParseError
from urllib3.util import parse_url

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network

WEBHOOK_NETWORKS = "WEBHOOK_NETWORKS"
"""Where the configuration of an application holds the networks that its settings allow."""

LONGEST_URL = 2000
HTTPS_PORT, HTTP_PORT, FIRST_FREE_PORT = 443, 80, 1024

LOCALHOST = "localhost"
"""This machine everywhere, with whatever stands before it (RFC 6761, 6.3)."""

_LABEL = r"[a-z0-9_-]{1,63}"
_NAME = re.compile(rf"(?=.{{1,254}}\Z){_LABEL}(\.{_LABEL})*\.?")
# A host that readers of URLs take for an address of IPv4, in whatever way it is written (WHATWG URL, 3.5).
_ENDS_IN_A_NUMBER = re.compile(r"(.*\.)?(0x[0-9a-f]*|[0-9]+)\.?")

# Translated to IPv4 on the way (RFC 6052).
_NAT64 = IPv6Network("64:ff9b::/96")
# Of the same registries, and not in every version of the table that Python has of them: protocol assignments
# (RFC 6890) and relays to 6to4 (RFC 7526).
_NOT_GIVEN_OUT = (IPv4Network("192.0.0.0/24"), IPv4Network("192.88.99.0/24"))
# All of IPv6 that was given out for use on the whole net (IANA, IPv6 Global Unicast Address Assignments).
_IPV6_GIVEN_OUT = IPv6Network("2000::/3")


class AddressRefused(ValueError):
    """Nothing is sent there; the message says what would do."""


class NotReachable(Exception):
    """A host leads to no address, or to one that may not be reached; which of them is not told."""


def networks_of(text: str) -> tuple[Network, ...]:
    """Networks separated by commas. Raises ValueError."""
    return tuple(ip_network(each.strip()) for each in text.split(","))


def refuse_url(url: str, networks: Sequence[Network]) -> None:
    """Raises AddressRefused for a URL to which nothing is sent; where its host leads is looked up later."""
    if len(url) > LONGEST_URL or not re.fullmatch(r"[!-~]+", url) or "\\" in url:
        raise AddressRefused(f"write an address of at most {LONGEST_URL} ASCII characters, without blanks")
    try:
        parsed = parse_url(url)
    except LocationParseError:
        raise AddressRefused("this is not an address; write it like https://shop.example/events") from None
    if parsed.scheme != "https" and (parsed.scheme != "http" or not networks):
        raise AddressRefused("the address must begin with https://")
    if parsed.auth is not None or re.match(r"[^/?#]*//[^/?#]*@", url):
        raise AddressRefused("the address holds credentials; leave them out, every request is signed")
    if parsed.fragment is not None:
        raise AddressRefused("the address has a part behind '#', which is never sent; leave it out")
    if not parsed.host:
        raise AddressRefused("the address names no host; write it like https://shop.example/events")
    _refuse_port(parsed.port, networks)
    _refuse_host(parsed.host.strip("[]"), networks)


def _refuse_port(port: int | None, networks: Sequence[Network]) -> None:
    sane = port in (None, HTTPS_PORT, *([HTTP_PORT] if networks else [])) or (port or 0) >= FIRST_FREE_PORT
    if not sane:
        raise AddressRefused(
            f"nothing is sent to port {port}; use {HTTPS_PORT}, or one from {FIRST_FREE_PORT} on"
        )


def _refuse_host(host: str, networks: Sequence[Network]) -> None:
    try:
        address = ip_address(host)
    except ValueError:
        _refuse_name(host, networks)
        return
    if not _may_be_reached(address, networks, plain=False):
        raise AddressRefused(
            f"{address} is not a public address; name a host that is reached from everywhere"
        )


def _refuse_name(host: str, networks: Sequence[Network]) -> None:
    if not _NAME.fullmatch(host) or _ENDS_IN_A_NUMBER.fullmatch(host):
        raise AddressRefused("the host is no name; write it like shop.example, in letters, digits, hyphens")
    here = host.rstrip(".") == LOCALHOST or host.rstrip(".").endswith(f".{LOCALHOST}")
    if here and not any(network.is_loopback for network in networks):
        raise AddressRefused(f"{LOCALHOST} is this machine; name a host that is reached from everywhere")


def reachable(host: str, port: int, networks: Sequence[Network], plain: bool) -> list[tuple[str, int]]:
    """The addresses of a host, each with the port; to be connected to as they are.

    `plain` is without TLS, and for the allowed networks alone. Raises NotReachable where there is none, and
    where there is any that may not be reached.
    """
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
        addresses = list(dict.fromkeys(ip_address(str(sockaddr[0])) for *_, sockaddr in found))
    except (OSError, ValueError):  # ValueError: no label of a name is as long, or empty
        addresses = []
    if not addresses or not all(_may_be_reached(each, networks, plain) for each in addresses):
        raise NotReachable
    return [(str(each), port) for each in addresses]


def _may_be_reached(address: Address, networks: Sequence[Network], plain: bool) -> bool:
    return all(
        any(each in network for network in networks) or (not plain and _is_public(each))
        for each in _ends_at(address)
    )


def _ends_at(address: Address) -> Iterator[Address]:
    """The address, or those that a packet to it is led to: IPv6 has many ways to write one of IPv4."""
    if isinstance(address, IPv4Address):
        yield address
    elif address.ipv4_mapped is not None:
        yield address.ipv4_mapped
    elif address in _NAT64:
        yield IPv4Address(int(address) & 0xFFFF_FFFF)
    else:
        yield address
        if address.sixtofour is not None:
            yield address.sixtofour
        yield from address.teredo or ()


def _is_public(address: Address) -> bool:
    if isinstance(address, IPv4Address):
        given_out = not any(address in network for network in _NOT_GIVEN_OUT)
    else:
        given_out = address in _IPV6_GIVEN_OUT
    return given_out and address.is_global and not address.is_multicast
