"""Serving one image to one unit, for a unit that fetches its firmware by itself.

1. The path can't be guessed (256 random bits) and is told to that unit alone.
2. Only the address that the unit answers at is served; a unit on this machine may come from any loopback
   address. Whoever else asks, or asks for another path, gets the same 404 as for nothing.
3. GET alone, whole or one range (RFC 9110 §14), with the digest beside it (Repr-Digest, RFC 9530); nothing
   is packed, cached or redirected.
4. It is open only as long as the context lasts, on the one interface that leads to the unit, and counts
   what it sent.

The image goes over plain http, as small units fetch; what protects it is its signed digest, which the
unit is told over its own link and checks before anything is applied.
"""

import asyncio
import base64
import ipaddress
import re
import secrets
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

from aiohttp import web

from fleet.link.unit_link import UnitLink
from fleet.model.errors import LinkError

PIECE_BYTES = 1 << 14
LAST_PIECES_S = 1.0
"""Wall seconds that an answer has to end in once nothing is offered any more."""
_PATH_BYTES = 32
_RANGE = re.compile(r"bytes=(\d{0,12})-(\d{0,12})")
_OK, _PARTIAL, _UNFIT = 200, 206, 416
_ANY_PORT = (
    9  # nothing is sent there: it only asks the machine which of its addresses leads to a unit
)


@dataclass(frozen=True, slots=True)
class Offered:
    """An image that is offered: where, and whether it was fetched whole."""

    url: str
    fetched: asyncio.Event


@asynccontextmanager
async def image_offered(
    link: UnitLink, octets: bytes, sha256: str, tell: Callable[[int], None]
) -> AsyncIterator[Offered]:
    """Offer an image to a unit while the context lasts.

    Args:
        link: the way to the unit; it was spoken to before, so its address is known.
        octets: the image, checked.
        sha256: of it, hex.
        tell: is told how many octets have left in the answer that goes on.

    Raises:
        LinkError: no address of this machine leads to the unit, or none can be served on.
    """
    unit_address = link.asker.route.address
    path = f"/{secrets.token_urlsafe(_PATH_BYTES)}"
    fetched = asyncio.Event()
    served = _Served(octets, sha256, unit_address, path, tell, fetched)
    server = web.Server(served.answer, access_log=None)
    runner = web.ServerRunner(server, handler_cancellation=True, shutdown_timeout=LAST_PIECES_S)
    await runner.setup()
    try:
        own = _own_address(unit_address, link.subject)
        site = web.TCPSite(runner, own, 0)
        try:
            await site.start()
        except OSError as reason:
            raise _unserved(link.subject, reason.strerror or "it can't be listened on") from reason
        port = runner.addresses[0][1]
        host = f"[{own}]" if ":" in own else own
        yield Offered(f"http://{host}:{port}{path}", fetched)
    finally:
        await runner.cleanup()


@dataclass(frozen=True, slots=True)
class _Served:
    """What is served to whom."""

    octets: bytes
    sha256: str
    unit_address: str
    path: str
    tell: Callable[[int], None]
    fetched: asyncio.Event

    async def answer(self, request: web.BaseRequest) -> web.StreamResponse:
        """Serve the image, or say nothing of it."""
        same = secrets.compare_digest(request.path.encode(), self.path.encode())
        if not same or not is_same_host(request.remote or "", self.unit_address):
            return web.Response(status=404)
        if request.method != "GET":
            return web.Response(status=405, headers={"Allow": "GET"})
        wanted = wanted_range(request.headers.get("Range", ""), len(self.octets))
        if wanted is None:
            headers = {"Content-Range": f"bytes */{len(self.octets)}"}
            return web.Response(status=_UNFIT, headers=headers)
        return await self._sent(request, *wanted)

    async def _sent(self, request: web.BaseRequest, start: int, end: int) -> web.StreamResponse:
        whole = (start, end) == (0, len(self.octets))
        response = web.StreamResponse(status=_OK if whole else _PARTIAL, headers=self._headers())
        response.content_length = end - start
        if not whole:
            response.headers["Content-Range"] = f"bytes {start}-{end - 1}/{len(self.octets)}"
        await response.prepare(request)
        for begin in range(start, end, PIECE_BYTES):
            await response.write(self.octets[begin : min(begin + PIECE_BYTES, end)])
            self.tell(min(begin + PIECE_BYTES, end))
        await response.write_eof()
        if end == len(self.octets):
            self.fetched.set()
        return response

    def _headers(self) -> dict[str, str]:
        digest = base64.b64encode(bytes.fromhex(self.sha256)).decode()
        return {
            "Content-Type": "application/octet-stream",
            "Accept-Ranges": "bytes",
            "Cache-Control": "no-store",
            "ETag": f'"{self.sha256}"',
            "Repr-Digest": f"sha-256=:{digest}:",
        }


def wanted_range(header: str, length: int) -> tuple[int, int] | None:
    """Return start and end (exclusive) of what a Range header asks for; None for what isn't there.

    A header that isn't understood, or asks for several ranges, is ignored, and all is meant (RFC 9110
    §14.2).
    """
    found = _RANGE.fullmatch(header.strip())
    if found is None or not any(found.groups()):
        return 0, length
    first, last = found.groups()
    if not first:
        start, end = length - min(int(last), length), length
    else:
        start, end = int(first), min(int(last) + 1, length) if last else length
    if last and first and int(last) < int(first):
        return 0, length
    return (start, end) if start < end else None


def is_same_host(one: str, other: str) -> bool:
    """Say whether two addresses are one machine's: equal, or both loopback."""
    try:
        first, second = _plain(one), _plain(other)
    except ValueError:
        return False
    return first == second or (first.is_loopback and second.is_loopback)


def _plain(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address:
    address = ipaddress.ip_address(text.partition("%")[0])
    mapped = address.ipv4_mapped if isinstance(address, ipaddress.IPv6Address) else None
    return mapped or address


def _own_address(unit_address: str, subject: str) -> str:
    """Return the address of this machine that leads to a unit; nothing is sent to find out."""
    family = socket.AF_INET6 if ":" in unit_address else socket.AF_INET
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            asking.connect((unit_address, _ANY_PORT))
            return str(asking.getsockname()[0])
    except OSError as reason:
        raise _unserved(subject, "no address of this machine leads to it") from reason


def _unserved(subject: str, reason: str) -> LinkError:
    return LinkError(
        f"the image can't be served to it: {reason}.",
        subject=subject,
        stands="It wasn't told to install anything.",
        next_step="Check the network, or send the image instead of having it fetched.",
    )
