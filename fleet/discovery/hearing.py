"""What one interface brings when everybody on it is asked for services, with sockets of its own.

Two sockets a trial. The *listener* shares port 5353 and joins the group on this interface alone. The
*asker* has a port of its own, so that answers to it come alone (RFC 6762 §6.7), and asks some machines
alone as well (§5.5). The listener asks too, from port 5353, and is answered through multicast. A question
bears a number by which the listener knows it again when the system hands it back: one that is dropped on
its way in never comes.
"""

import asyncio
import contextlib
import ipaddress
import socket
import struct
import sys
from collections.abc import AsyncIterator, Collection, Iterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from zeroconf._dns import DNSPointer, DNSQuestion  # open like the next, but left out of `__all__`
from zeroconf._protocol.incoming import DNSIncoming
from zeroconf._protocol.outgoing import DNSOutgoing

from fleet.discovery.tried import Hearing
from fleet.model.meeting import Interface

ALL_SERVICES = "_services._dns-sd._udp.local."
ASK_AT_S = (0.0, 0.5, 0.7)  # wall time from one question to the next: a wireless network loses some
LISTEN_S = 1.0  # wall time after the last question; an answer through multicast takes up to 0.5 s
MAX_PACKETS = 500

_PORT = 5353
_GROUPS = {socket.AF_INET: "224.0.0.251", socket.AF_INET6: "ff02::fb"}
_PTR, _CLASS_IN = 12, 1
_RESPONSE = 0x8000
_JOINED_ONLY = {socket.AF_INET: (socket.IPPROTO_IP, 49), socket.AF_INET6: (socket.IPPROTO_IPV6, 29)}
"""IP_MULTICAST_ALL, <linux/in.h>, and IPV6_MULTICAST_ALL, <linux/in6.h>: else each interface hears all."""


@dataclass(slots=True)
class _Heard:
    """Datagrams of one socket, with where they came from, and the last thing that went wrong."""

    packets: list[tuple[bytes, str]] = field(default_factory=list)
    trouble: Exception | None = None


class _Ear(asyncio.DatagramProtocol):
    """Keeps what comes, up to a bound."""

    def __init__(self, heard: _Heard) -> None:
        self._heard = heard

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        """Keep one datagram."""
        if len(self._heard.packets) < MAX_PACKETS:
            self._heard.packets.append((data, addr[0].partition("%")[0]))

    def error_received(self, exc: Exception) -> None:
        """Keep why nothing can be sent."""
        self._heard.trouble = exc


async def hear_on(
    interface: Interface,
    *,
    own: Collection[str],
    gateway: str,
    alone: Sequence[str],
    service_types: Sequence[str],
    number: int,
) -> Hearing:
    """Ask everybody on one interface, and some machines alone, and return what came of it.

    Args:
        interface: where; its address decides between IPv4 and IPv6.
        own: addresses of this machine, without scope.
        gateway: its address isn't counted among the others.
        alone: addresses of the interface's network that are asked alone.
        service_types: those of units, for example "_wot._tcp".
        number: below 65,535; marks the questions of this trial.
    """
    listener, asker = _Heard(), _Heard()
    types = [f"{kind}.local." for kind in service_types]
    questions = [_question(types, number), _question(types, number + 1)]
    try:
        async with _open(interface, listener, asker) as (shared, single):
            for pause_s in ASK_AT_S:
                await asyncio.sleep(pause_s)
                _ask_all(interface, shared, listener, questions[0])
                _ask_all(interface, single, asker, questions[1])
                _ask_alone(interface, single, questions[1], alone)
            await asyncio.sleep(LISTEN_S)
    except OSError as reason:
        return Hearing(
            interface.name, asked=False, echo=False, reason=reason.strerror or str(reason)
        )
    marks = {question[:2] for question in questions}
    ours = frozenset() if interface.loopback else frozenset((*own, gateway))
    return Hearing(
        interface.name,
        echo=any(data in questions for data, _ in listener.packets),
        others=frozenset(_senders(listener, ours, marks)),
        alone=frozenset(_senders(asker, ours, marks)) if not interface.loopback else frozenset(),
        units=len({name for heard in (listener, asker) for name in _units(heard, types)}),
    )


@asynccontextmanager
async def _open(
    interface: Interface, listener: _Heard, asker: _Heard
) -> AsyncIterator[tuple[asyncio.DatagramTransport, asyncio.DatagramTransport]]:
    loop = asyncio.get_running_loop()
    with contextlib.ExitStack() as opened:
        shared, _ = await loop.create_datagram_endpoint(
            lambda: _Ear(listener), sock=_shared_socket(interface)
        )
        opened.callback(shared.close)
        single, _ = await loop.create_datagram_endpoint(
            lambda: _Ear(asker), sock=_single_socket(interface)
        )
        opened.callback(single.close)
        yield shared, single
    await asyncio.sleep(0)  # a transport lets its socket go in the loop's next round


def _ask_all(
    interface: Interface, transport: asyncio.DatagramTransport, heard: _Heard, question: bytes
) -> None:
    """Send a question to everybody.

    Raises:
        OSError: nothing can be sent to everybody here.
    """
    heard.trouble = None
    transport.sendto(question, _target(interface, _GROUPS[_family(interface)]))
    if heard.trouble is not None:
        raise heard.trouble


def _ask_alone(
    interface: Interface,
    transport: asyncio.DatagramTransport,
    question: bytes,
    alone: Sequence[str],
) -> None:
    for address in alone:
        if _family_of(address) == _family(interface):
            transport.sendto(question, _target(interface, address))


def _shared_socket(interface: Interface) -> socket.socket:
    with _closed_on_error(socket.socket(_family(interface), socket.SOCK_DGRAM)) as made:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if sys.platform == "linux":
            # Without SO_REUSEPORT: of sockets that share a port by it, Linux (seen on 6.18) hands what one
            # of them alone has joined to another one. SO_REUSEADDR does for datagrams.
            made.setsockopt(*_JOINED_ONLY[_family(interface)], 0)
        elif hasattr(socket, "SO_REUSEPORT"):
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        _speak_through(made, interface)
        if _family(interface) == socket.AF_INET6:
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        made.bind(("", _PORT))
        _join(made, interface)
        return made


def _single_socket(interface: Interface) -> socket.socket:
    with _closed_on_error(socket.socket(_family(interface), socket.SOCK_DGRAM)) as made:
        _speak_through(made, interface)
        made.bind(_target(interface, interface.address, 0))
        return made


@contextlib.contextmanager
def _closed_on_error(made: socket.socket) -> Iterator[socket.socket]:
    made.settimeout(0.0)
    try:
        yield made
    except OSError:
        made.close()
        raise


def _speak_through(made: socket.socket, interface: Interface) -> None:
    """Send multicast by this interface, back to this machine as well, and no router further."""
    if _family(interface) == socket.AF_INET6:
        index = socket.if_nametoindex(interface.name)
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, index)
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 1)
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, 255)
        return
    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(interface.address))
    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 1)
    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 255)


def _join(made: socket.socket, interface: Interface) -> None:
    family = _family(interface)
    group = socket.inet_pton(family, _GROUPS[family])
    if family == socket.AF_INET6:
        index = socket.if_nametoindex(interface.name)
        made.setsockopt(
            socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, group + struct.pack("@I", index)
        )
    else:
        here = socket.inet_aton(interface.address)
        made.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, group + here)


def _question(types: Sequence[str], number: int) -> bytes:
    outgoing = DNSOutgoing(0)
    for name in (ALL_SERVICES, *types):
        outgoing.add_question(DNSQuestion(name, _PTR, _CLASS_IN))
    return number.to_bytes(2, "big") + outgoing.packets()[0][2:]


_HEADER_BYTES, _FLAGS_END = 12, 4  # of a DNS message, and of the flags in it (RFC 1035 §4.1.1)


def _senders(heard: _Heard, ours: frozenset[str], marks: Collection[bytes]) -> Iterator[str]:
    """Yield who sent a sound packet that isn't ours; on loopback, where all are ours, who answered."""
    for data, address in heard.packets:
        if address in ours or (not ours and not _is_response(data)):
            continue
        if len(data) > _HEADER_BYTES and (data[:2] not in marks or _is_response(data)):
            yield address


def _is_response(data: bytes) -> bool:
    return len(data) >= _FLAGS_END and bool(int.from_bytes(data[2:_FLAGS_END], "big") & _RESPONSE)


def _units(heard: _Heard, types: Sequence[str]) -> Iterator[str]:
    for data, _ in heard.packets:
        if not _is_response(data):
            continue
        for record in DNSIncoming(data).answers():
            if isinstance(record, DNSPointer) and record.name.lower() in types:
                yield record.alias.lower()


def _family(interface: Interface) -> socket.AddressFamily:
    return _family_of(interface.address)


def _family_of(address: str) -> socket.AddressFamily:
    return socket.AF_INET6 if ":" in address else socket.AF_INET


def _target(
    interface: Interface, address: str, port: int = _PORT
) -> tuple[str, int] | tuple[str, int, int, int]:
    """Return what a socket is given for an address."""
    if ":" not in address:
        return address, port
    plain = address.partition("%")[0]
    scoped = ipaddress.ip_address(plain).is_link_local or plain.startswith("ff")
    return plain, port, 0, socket.if_nametoindex(interface.name) if scoped else 0
