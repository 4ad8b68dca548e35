"""Whom this server talks to when somebody else names the address: the public internet, never its own neighbourhood.

Without this, a member could have the server ask a router, a database or a cloud's metadata for them. A name is resolved
once, every address it has is judged, and the connection goes to one of those that were judged: a name that points
elsewhere a moment later changes nothing.
"""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

Address = IPv4Address | IPv6Address
#: Returns the numeric addresses of a host at a port. Raises OSError for a name nobody knows.
LookUp = Callable[[str, int], Iterable[str]]


def _nets(*words: str) -> tuple[IPv4Network | IPv6Network, ...]:
    return tuple(ip_network(word) for word in words)


#: A household's own: this machine, private networks (RFC 1918, RFC 4193), and shared address space (RFC 6598).
_HOUSE = _nets(
    "127.0.0.0/8", "::1/128", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7", "100.64.0.0/10"
)
#: For nobody, by IANA's registries of special-purpose addresses: unspecified, link-local (a cloud's metadata lives
#: there), documentation, benchmarks, relays, multicast, reserved.
_NEVER = _nets(
    *("0.0.0.0/8", "169.254.0.0/16", "192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24", "198.18.0.0/15"),
    *("198.51.100.0/24", "203.0.113.0/24", "224.0.0.0/4", "240.0.0.0/4"),
    *("2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20"),
)
#: All that is public in IPv6 today, and the prefix by which an IPv6 network reaches IPv4 (RFC 6052).
_GLOBAL, _NAT64 = IPv6Network("2000::/3"), IPv6Network("64:ff9b::/96")


class NotPublic(OSError):
    """An address this server does not talk to on somebody's behalf."""


class Unresolved(OSError):
    """A name that has no address, or none just now."""


def may_reach(address: Address, *, private: bool = False) -> bool:
    """Say whether an address is public; with `private`, those of the household's own network count as well."""
    if isinstance(address, IPv6Address) and address.ipv4_mapped:
        return may_reach(address.ipv4_mapped, private=private)
    if address in _NAT64:
        return may_reach(IPv4Address(int(address) & 0xFFFFFFFF), private=private)
    if any(address in net for net in _HOUSE):
        return private
    if any(address in net for net in _NEVER):
        return False
    return isinstance(address, IPv4Address) or address in _GLOBAL


def check_public(
    host: str, port: int, *, private: bool = False, look_up: LookUp | None = None
) -> tuple[str, ...]:
    """Return the numeric addresses of `host`, all of which may be reached; connect to one of these and to no other.

    private: the household's own network will do too. Raises Unresolved, or NotPublic when even one of them may not be
    reached. Waits as long as the system's resolver does.
    """
    try:
        found = tuple(dict.fromkeys((look_up or resolve)(host, port)))
        judged = [may_reach(ip_address(one), private=private) for one in found]
    except (OSError, ValueError) as error:  # ValueError: a name that can't be one, UnicodeError included
        raise Unresolved("no such host") from error
    if not found:
        raise Unresolved("no such host")
    if not all(judged):
        raise NotPublic("not an address of the public internet")
    return found


def resolve(host: str, port: int) -> list[str]:
    """Return what the system's resolver knows of a host."""
    return [str(entry[4][0]) for entry in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
