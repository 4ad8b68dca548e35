"""No address of the server's own neighbourhood is ever reached on somebody's behalf, however it is written."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv6Address, ip_address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.services.channels import addresses
from farm.services.channels.addresses import NotPublic, Unresolved, check_public, may_reach

PUBLIC = [
    "1.1.1.1",
    "8.8.8.8",
    "100.63.255.255",
    "100.128.0.0",
    "172.15.255.255",
    "172.32.0.0",
    "2606:4700::1111",
    "2a00:1450:4001::1",
    "::ffff:1.1.1.1",
    "64:ff9b::1.1.1.1",
]
HOUSE = [
    "127.0.0.1",
    "127.255.0.9",
    "10.0.0.1",
    "172.16.0.1",
    "172.31.255.255",
    "192.168.1.5",
    "100.64.0.1",
    "100.127.255.255",
    "::1",
    "fd00::1",
    "::ffff:192.168.1.5",
    "::ffff:127.0.0.1",
    "64:ff9b::10.0.0.1",
]
NEVER = [
    "0.0.0.0",
    "169.254.169.254",
    "224.0.0.1",
    "239.255.255.250",
    "240.0.0.1",
    "255.255.255.255",
    "192.0.0.170",
    "192.0.2.1",
    "192.88.99.1",
    "198.18.0.1",
    "198.51.100.1",
    "203.0.113.1",
    "::",
    "fe80::1",
    "fe80::1%eth0",
    "fec0::1",
    "ff02::1",
    "2001:db8::1",
    "2001::1",
    "2002:7f00:1::",
    "3fff::1",
    "::7f00:1",
    "64:ff9b:1::10.0.0.1",
    "::ffff:169.254.169.254",
    "64:ff9b::169.254.169.254",
]


@pytest.mark.parametrize("word", PUBLIC)
def test_the_public_internet_may_be_reached(word: str) -> None:
    assert may_reach(ip_address(word))
    assert may_reach(ip_address(word), private=True)


@pytest.mark.parametrize("word", HOUSE)
def test_a_households_own_network_only_where_that_is_wanted(word: str) -> None:
    assert not may_reach(ip_address(word))
    assert may_reach(ip_address(word), private=True)


@pytest.mark.parametrize("word", NEVER)
def test_link_local_multicast_and_reserved_never(word: str) -> None:
    assert not may_reach(ip_address(word))
    assert not may_reach(ip_address(word), private=True)


@given(st.ip_addresses())
def test_pythons_own_judgement_is_never_stricter(address: IPv4Address | IPv6Address) -> None:
    """`ipaddress` keeps IANA's registries by itself: whatever we let pass is global there too."""
    if may_reach(address):
        inner = getattr(address, "ipv4_mapped", None) or address
        assert (inner.is_global and not inner.is_multicast) or inner in addresses._NAT64


@given(st.ip_addresses(v=4))
def test_an_ipv4_address_is_judged_alike_in_each_of_its_ipv6_clothes(address: IPv4Address) -> None:
    for dressed in (f"::ffff:{address}", f"64:ff9b::{address}"):
        assert may_reach(ip_address(dressed)) == may_reach(address)
    assert not may_reach(IPv6Address((0x2002 << 112) | (int(address) << 80)))


@pytest.mark.parametrize(
    "host",
    ["127.0.0.1", "localhost", "2130706433", "0x7f000001", "0x7f.1", "0177.0.0.1", "127.1", "::1", "0"],
)
def test_no_way_of_writing_this_machine_gets_past(host: str) -> None:
    """The system's resolver reads decimal, octal and hexadecimal numbers: what it makes of them is what is judged."""
    with pytest.raises((NotPublic, Unresolved)):
        check_public(host, 443)


@pytest.mark.parametrize("host", ["169.254.169.254", "2852039166", "0xa9fea9fe", "[::ffff:a9fe:a9fe]"])
def test_a_clouds_metadata_is_out_of_reach_even_for_households(host: str) -> None:
    with pytest.raises((NotPublic, Unresolved)):
        check_public(host.strip("[]"), 80, private=True)


def test_one_bad_address_among_good_ones_is_enough_to_refuse() -> None:
    with pytest.raises(NotPublic):
        check_public("mixed.example", 443, look_up=lambda host, port: ["1.1.1.1", "10.0.0.1"])


def test_addresses_come_back_once_each_in_the_resolvers_order() -> None:
    found = check_public("ok.example", 443, look_up=lambda host, port: ["8.8.8.8", "1.1.1.1", "8.8.8.8"])
    assert found == ("8.8.8.8", "1.1.1.1")


def fails(host: str, port: int) -> list[str]:
    raise OSError("no such name")


@pytest.mark.parametrize("look_up", [fails, lambda host, port: [], lambda host, port: ["not a number"]])
def test_a_name_without_addresses_is_unresolved(look_up) -> None:
    with pytest.raises(Unresolved):
        check_public("gone.example", 443, look_up=look_up)


@pytest.mark.parametrize("host", ["", "a" * 300, "xn--\udc80", "a\x00b", "..", "no such host"])
def test_what_can_be_no_name_is_unresolved_or_refused_and_nothing_worse(host: str) -> None:
    with pytest.raises((Unresolved, NotPublic)):
        check_public(host, 443)


def test_the_system_is_asked_when_nobody_else_is_named(monkeypatch) -> None:
    monkeypatch.setattr(addresses, "resolve", lambda host, port: ["9.9.9.9"])
    assert check_public("dns.example", 443) == ("9.9.9.9",)
