import socket

from fleet.discovery.interfaces import (
    Ear,
    can_bind,
    chosen_of,
    ears_on,
    interfaces,
    networks_of,
)
from fleet.discovery.standpoint import Standpoint, standpoint
from fleet.model.meeting import Interface

LOOPBACK = Interface("lo", "127.0.0.1", "127.0.0.0/8", loopback=True)
WIRED = Interface("eth7", "198.51.100.2", "198.51.100.0/24")
WIRED_SIX = Interface("eth7", "fe80::1%eth7", "fe80::/64")


def test_loopback_is_listed_with_its_network():
    assert LOOPBACK in interfaces()


def test_an_interface_is_chosen_by_address_by_name_or_all_are():
    up = (WIRED, LOOPBACK, WIRED_SIX)
    assert chosen_of("198.51.100.2", up) == chosen_of("eth7", up) == (WIRED, WIRED_SIX)
    assert chosen_of("", up) == up
    assert chosen_of("127.9.1.4", up) == (LOOPBACK,)
    assert chosen_of("203.0.113.1", up) == chosen_of("wlan0", up) == ()


def test_an_address_of_loopback_is_listened_on_itself():
    index = socket.if_nametoindex("lo")
    assert ears_on("127.9.1.4", (LOOPBACK,)) == (Ear("127.9.1.4", index),)
    assert ears_on("127.9.1.4", ()) == ()


def test_an_address_that_is_not_ours_is_not_listened_on():
    assert not can_bind("203.0.113.1")
    assert not can_bind("no address")
    assert ears_on("eth7", (WIRED, WIRED_SIX)) == ()


def test_networks_are_read():
    assert [str(each) for each in networks_of((WIRED, LOOPBACK))] == [
        "198.51.100.0/24",
        "127.0.0.0/8",
    ]


def test_a_standpoint_follows_its_interface_when_the_address_changes():
    before = standpoint("127.0.0.1", (LOOPBACK,), Standpoint())
    assert (before.name, before.scope) == ("lo", "")
    away = standpoint("127.0.0.1", (), before)
    assert (away.ears, away.name) == ((), "lo")
    moved = Interface("lo", "127.0.0.7", "127.0.0.7/32", loopback=True)
    assert [ear.address for ear in standpoint("127.0.0.1", (moved,), away).ears] == ["127.0.0.7"]
