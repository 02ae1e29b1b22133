"""Which ways this machine has onto a network, and which of them are listened on.

`ifaddr` lists addresses of interfaces that are down as well; Linux says by SIOCGIFFLAGS (netdevice(7))
whether one is up and has a link. Elsewhere all that are listed count as up.
"""

import ipaddress
import socket
import struct
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import ifaddr

from fleet.model.meeting import Interface

if sys.platform == "linux":
    import fcntl

_GET_FLAGS = 0x8913  # SIOCGIFFLAGS, <linux/sockios.h>
_UP_AND_LINKED = 0x1 | 0x40  # IFF_UP | IFF_RUNNING, <net/if.h>
_NAME_AND_FLAGS = "16sH14x"

Network = ipaddress.IPv4Network | ipaddress.IPv6Network


@dataclass(frozen=True, slots=True)
class Ear:
    """What is handed to the listener for one interface.

    Attributes:
        address: an IPv4 address of ours, "" for IPv6.
        index: the system's number of the interface; another one when it was made anew.
    """

    address: str
    index: int


def interfaces() -> tuple[Interface, ...]:
    """Return the interfaces that are up, one a usable address: IPv4 first, by name and address.

    Raises:
        OSError: the system doesn't say.
    """
    found = [
        each
        for adapter in ifaddr.get_adapters()
        if _is_up(adapter.nice_name)
        for ip in adapter.ips
        if (each := _interface(adapter.nice_name, ip)) is not None
    ]
    return tuple(sorted(found, key=lambda each: (":" in each.address, each.name, each.address)))


def chosen_of(choice: str, present: Iterable[Interface]) -> tuple[Interface, ...]:
    """Return the interfaces that a choice means: an address, a name, or "" for all of them.

    The whole of 127.0.0.0/8 is on loopback though the system lists one address of it.
    """
    present = tuple(present)
    if not choice:
        return present
    names = {each.name for each in present if choice in (each.name, each.address)}
    if not names:
        names = {each.name for each in present if each.loopback and _is_within(choice, each)}
    return tuple(each for each in present if each.name in names)


def networks_of(chosen: Iterable[Interface]) -> tuple[Network, ...]:
    """Return the networks behind interfaces."""
    return tuple(ipaddress.ip_network(each.network, strict=False) for each in chosen)


def ears_on(choice: str, chosen: Sequence[Interface]) -> tuple[Ear, ...]:
    """Return what to listen on for a choice; only addresses that a socket can be bound to.

    An address that was chosen is listened on itself, beside the IPv6 of the same interface. An address
    that is still being checked for doubles (RFC 4862 §5.4) can't be bound yet and comes a look later.
    """
    fours = {each.address: each.name for each in chosen if ":" not in each.address}
    if "." in choice and ":" not in choice:
        fours = {choice: chosen[0].name} if chosen else {}
    sixes = [each for each in chosen if ":" in each.address and not each.loopback]
    names = dict.fromkeys(each.name for each in sixes)
    sound = [n for n in names if all(can_bind(each.address) for each in sixes if each.name == n)]
    return (
        *(Ear(address, _index(name)) for address, name in fours.items() if can_bind(address)),
        *(Ear("", _index(name)) for name in sound),
    )


def can_bind(address: str) -> bool:
    """Tell whether a socket can be bound to an address of this machine."""
    try:
        target = socket.getaddrinfo(address, 0, type=socket.SOCK_DGRAM)[0]
        with socket.socket(target[0], socket.SOCK_DGRAM) as trial:
            trial.bind(target[4])
    except OSError:
        return False
    return True


def _index(name: str) -> int:
    try:
        return socket.if_nametoindex(name)
    except OSError:  # gone since it was listed: the next look finds another one
        return 0


def _is_within(address: str, each: Interface) -> bool:
    try:
        return ipaddress.ip_address(address) in ipaddress.ip_network(each.network, strict=False)
    except ValueError:
        return False


def _interface(name: str, ip: ifaddr.IP) -> Interface | None:
    address = ip.ip if isinstance(ip.ip, str) else ip.ip[0].partition("%")[0]
    try:
        whole = ipaddress.ip_interface(f"{address}/{ip.network_prefix}")
    except ValueError:  # a prefix that no network has, seen on tunnels
        return None
    scope = f"%{name}" if ":" in address and whole.ip.is_link_local else ""
    return Interface(name, f"{whole.ip}{scope}", str(whole.network), whole.ip.is_loopback)


def _is_up(name: str) -> bool:
    if sys.platform != "linux":
        return True
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            answer = fcntl.ioctl(asked, _GET_FLAGS, struct.pack(_NAME_AND_FLAGS, name.encode(), 0))
        except OSError:  # gone since it was listed
            return False
    _, flags = struct.unpack(_NAME_AND_FLAGS, answer)
    return bool(flags & _UP_AND_LINKED == _UP_AND_LINKED)
