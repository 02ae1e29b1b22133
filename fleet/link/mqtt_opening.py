"""The network connection to a broker, opened without blocking and with its certificate in hand."""

import asyncio
import hashlib
import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import urlsplit

from fleet.description.origins import origin_of


@dataclass(frozen=True, slots=True)
class BrokerAddress:
    """Where a broker is.

    Attributes:
        origin: scheme, host and port, the port always written; what a secret and a pin are kept under.
        host: a name or an address, a link-local one with its scope.
        port: the TCP port.
        secure: over TLS.
    """

    origin: str
    host: str
    port: int
    secure: bool


def broker_address(url: str) -> BrokerAddress:
    """Read a broker's address.

    Raises:
        ValueError: it is none.
    """
    parts = urlsplit(url)
    if parts.scheme not in ("mqtt", "mqtts"):
        raise ValueError(f"{url[:80]!r} is no address of a broker")
    origin = origin_of(url)
    written = urlsplit(origin)
    return BrokerAddress(origin, written.hostname or "", written.port or 0, parts.scheme == "mqtts")


async def open_socket(address: BrokerAddress) -> socket.socket:
    """Return a connected, non-blocking socket; the caller closes it.

    Over TLS any certificate is let through here: units and brokers of a house sign their own. It is the
    caller who looks at it (`fingerprint_of`) before a secret goes out.

    Raises:
        OSError: nothing answers, or it speaks no TLS.
    """
    connected = await _connect(address)
    if not address.secure:
        return connected
    try:
        wrapped = _context().wrap_socket(
            connected, server_hostname=address.host, do_handshake_on_connect=False
        )
    except BaseException:
        connected.close()
        raise
    try:
        await _shake_hands(wrapped)
    except BaseException:
        wrapped.close()
        raise
    return wrapped


def fingerprint_of(connected: socket.socket) -> str:
    """Return the SHA-256 of the certificate in DER, hex; "" for a socket without TLS."""
    if not isinstance(connected, ssl.SSLSocket):
        return ""
    return hashlib.sha256(connected.getpeercert(binary_form=True) or b"").hexdigest()


async def _connect(address: BrokerAddress) -> socket.socket:
    loop = asyncio.get_running_loop()
    found = await loop.getaddrinfo(address.host, address.port, type=socket.SOCK_STREAM)
    failure: OSError | None = None
    for family, kind, protocol, _, place in found:
        tried = socket.socket(family, kind, protocol)
        try:
            tried.setblocking(False)  # noqa: FBT003 (the socket's own signature)
            await loop.sock_connect(tried, place)
            tried.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        except OSError as reason:
            tried.close()
            failure = reason
        except BaseException:
            tried.close()
            raise
        else:
            return tried
    raise failure or OSError("its name leads nowhere")


def _context() -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context


async def _shake_hands(wrapped: ssl.SSLSocket) -> None:
    loop = asyncio.get_running_loop()
    number = wrapped.fileno()
    while True:
        try:
            return wrapped.do_handshake()
        except ssl.SSLWantReadError:
            await _once(
                lambda wake: loop.add_reader(number, wake), lambda: loop.remove_reader(number)
            )
        except ssl.SSLWantWriteError:
            await _once(
                lambda wake: loop.add_writer(number, wake), lambda: loop.remove_writer(number)
            )


async def _once(begin: Callable[[Callable[[], None]], None], end: Callable[[], object]) -> None:
    ready = asyncio.Event()
    begin(ready.set)
    try:
        await ready.wait()
    finally:
        end()
