"""Where a unit's requests may go, held where the connection is made.

1. A request goes to the host and port that the description came from, whoever built its address, and
   whichever redirect the client itself would follow.
2. A name is looked up anew for each connection, but only the address that the description came from is
   connected to: a name that now leads elsewhere is refused, not followed.
3. Of a unit on https the certificate is noted before a byte of a request is sent. Once it is pinned, the
   client closes a connection that shows another.
"""

import asyncio
import socket
from contextvars import ContextVar
from dataclasses import dataclass

import aiohttp
from aiohttp.abc import AbstractResolver, ResolveResult
from aiohttp.connector import Connection
from aiohttp.tracing import Trace
from cryptography.hazmat.primitives.hashes import SHA256, Hash
from yarl import URL

from fleet.model.meeting import Pin


class WanderedError(aiohttp.ClientConnectionError):
    """A request was about to go to another place than its unit's."""


class AddressMovedError(OSError):
    """The unit's name leads to another address than its description came from."""


@dataclass(slots=True)
class Route:
    """The one place that a unit's requests go to.

    Attributes:
        host, port: of the description's address.
        secure: over https.
        address: what the first connection reached; "" before it.
        sha256: of the certificate that was shown last, hex; "" for none.
        pin: what the certificate is held against; None until it was trusted.
    """

    host: str
    port: int
    secure: bool
    address: str = ""
    sha256: str = ""
    pin: Pin | None = None

    @property
    def trust(self) -> bool | aiohttp.Fingerprint:
        """What the client is to demand of the certificate: the pinned one, or none in particular."""
        return aiohttp.Fingerprint(bytes.fromhex(self.pin.sha256)) if self.pin else False

    def hold_place(self, url: URL) -> None:
        """Refuse an address that isn't on this route.

        Raises:
            WanderedError: that is so.
        """
        if (url.host, url.port, url.scheme in {"https", "wss"}) != (
            self.host,
            self.port,
            self.secure,
        ):
            raise WanderedError

    def hold_peer(self, transport: asyncio.BaseTransport | None) -> None:
        """Note whom the first connection reached; refuse whoever else a later one reaches.

        Raises:
            WanderedError: another address was reached.
        """
        peer = transport.get_extra_info("peername") if transport else None
        address = _plain(str(peer[0])) if peer else ""
        if not address or self.address not in {"", address}:
            raise WanderedError
        self.address = address
        secured = transport.get_extra_info("ssl_object") if transport else None
        if secured is not None:
            self.sha256 = sha256_of(secured.getpeercert(binary_form=True) or b"")


ROUTE: ContextVar[Route | None] = ContextVar("route", default=None)
"""The route of the request that is being sent in this task."""


def route_to(url: str) -> Route:
    """Return the route to a unit by its description's http or https address."""
    parts = URL(url)
    return Route(parts.host or "", parts.port or 0, parts.scheme == "https")


def sha256_of(certificate: bytes) -> str:
    """Return the fingerprint of a certificate in DER, hex."""
    digest = Hash(SHA256())
    digest.update(certificate)
    return digest.finalize().hex()


class HeldResolver(AbstractResolver):
    """Looks names up, and gives only the address that a route is held to."""

    async def resolve(
        self, host: str, port: int = 0, family: socket.AddressFamily = socket.AF_UNSPEC
    ) -> list[ResolveResult]:
        """Return where a host is.

        Raises:
            AddressMovedError: nowhere that this route may go.
            OSError: nobody knows it.
        """
        found = await aiohttp.ThreadedResolver().resolve(host, port, family)
        route = ROUTE.get()
        held = route.address if route else ""
        kept = [one for one in found if not held or _plain(one["host"]) == held]
        if not kept:
            raise AddressMovedError
        return kept

    async def close(self) -> None:
        """Close nothing: a look-up leaves nothing open."""


class HeldConnector(aiohttp.TCPConnector):
    """Makes connections that stay on the route of the request they are made for."""

    async def connect(
        self,
        req: aiohttp.ClientRequest,
        traces: list[Trace],
        timeout: aiohttp.ClientTimeout,  # noqa: ASYNC109 - the library's own signature
    ) -> Connection:
        """Return a connection to the route's place.

        Raises:
            WanderedError: the request leads elsewhere, or the connection did.
        """
        route = ROUTE.get()
        if route is None:
            raise WanderedError
        route.hold_place(req.url)
        connection = await super().connect(req, traces, timeout)
        try:
            route.hold_peer(connection.transport)
        except WanderedError:
            connection.close()
            raise
        return connection


def _plain(address: str) -> str:
    """Return an address without the scope of a link-local one, which is written in several ways."""
    return address.partition("%")[0]
