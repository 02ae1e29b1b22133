"""The HTTP clients of a visit: how each request goes out and how much of its answer is read.

Rules that hold for every request to a unit:

1. Every wait has an end: connecting, the next bytes, the whole of a plain answer. A stream has no total
   limit, only one for silence.
2. Every answer has a size limit, checked while it arrives, and comes unpacked: what is packed all the
   same is refused, so that a small answer can't become a large one.
3. No redirect is followed, and the connection itself is held to the unit's place (`fleet.link.routes`).
4. No proxy and no cookies: units are on the local network and know nobody.
5. What changes something is sent once, over a connection of its own. The client library by itself sends a
   PUT or DELETE again when a unit breaks off; the second would be told 412 for what the first one did.
6. Errors keep nothing of the client library's own: its exceptions hold headers and addresses, and so
   passwords and keys.
"""

import asyncio
import re
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

import aiohttp

from fleet.description.requests import Request
from fleet.link.limits import Limits
from fleet.link.pinning import Pinning
from fleet.link.routes import (
    ROUTE,
    AddressMovedError,
    HeldConnector,
    HeldResolver,
    Route,
    WanderedError,
)
from fleet.model.errors import LinkError, PlanError, UnitError

CLIENT_ERRORS = (aiohttp.ClientError, TimeoutError, OSError)
WELL_KNOWN_PATH = "/.well-known/wot"  # W3C WoT Discovery, Recommendation of 5 December 2023
_NEVER_SENT = (aiohttp.ClientConnectorError, aiohttp.ConnectionTimeoutError, WanderedError)
_CHUNK_BYTES = 1 << 14
_LARGER_THAN_A_BLOCK = 1 << 20  # bytes
_SCOPE = re.compile(r"%[^\]]*\]")
_UNPACKED = frozenset({"", "identity"})


@dataclass(frozen=True, slots=True)
class Answer:
    """What a unit answered: status, headers in lower case, the whole body.

    Attributes:
        challenges: each WWW-Authenticate header of its own.
    """

    status: int
    headers: Mapping[str, str]
    body: bytes
    challenges: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Waits:
    """How long an exchange may take.

    Attributes:
        client: the client library's own limits.
        begin_s: until the answer begins; None leaves it to those.
        piecewise: hands a long body out in pieces, so that it is known how far it went; None sends it as
            one.
    """

    client: aiohttp.ClientTimeout
    begin_s: float | None = None
    piecewise: Callable[[bytes], AsyncIterator[bytes]] | None = None


class Wire:
    """The clients of a visit; make it in the running loop and close it."""

    def __init__(self, limits: Limits, pinning: Pinning) -> None:
        """Open two clients: one that keeps connections for reading, one that keeps none for acting."""
        keep_room_for_arrivals()
        self.limits = limits
        self._pinning = pinning
        self._plain_waits = Waits(
            aiohttp.ClientTimeout(
                total=limits.whole_s, connect=limits.connect_s, sock_read=limits.silence_s
            )
        )
        self._reading = _open_session(limits, keep_open=True)
        self._acting = _open_session(limits, keep_open=False)

    async def close(self) -> None:
        """Close every connection."""
        await self._reading.close()
        await self._acting.close()

    async def exchange(self, route: Route, request: Request, *, subject: str) -> Answer:
        """Send one request and read the whole answer.

        Args:
            route: where it may go.
            request: with what lets it in.
            subject: the unit, for messages.

        Raises:
            LinkError: the unit can't be reached or stopped answering.
            UnitError: the answer is too large, or packed.
        """
        try:
            async with await self.open(route, request, self._plain_waits) as response:
                return await self.whole(response, subject)
        except CLIENT_ERRORS as reason:
            failure = self.failure(reason, route, subject, asked=request.method != "GET")
        raise failure

    async def open(self, route: Route, request: Request, waits: Waits) -> aiohttp.ClientResponse:
        """Send one request and return its answer as it begins, to be read and closed by the caller.

        The client's own errors come through.
        """
        session = self._reading if request.method == "GET" else self._acting
        headers = {**request.headers, **_unscoped_host(request.url), "Accept-Encoding": "identity"}
        body: bytes | AsyncIterator[bytes] | None = request.body
        if request.body is not None and waits.piecewise is not None:
            headers["Content-Length"] = str(len(request.body))
            body = waits.piecewise(request.body)
        before = ROUTE.set(route)
        try:
            async with asyncio.timeout(waits.begin_s):
                return await session.request(
                    request.method,
                    request.url,
                    headers=headers,
                    data=body,
                    allow_redirects=False,
                    timeout=waits.client,
                    ssl=route.trust,
                )
        finally:
            ROUTE.reset(before)

    async def socket(
        self, route: Route, request: Request, largest_bytes: int
    ) -> aiohttp.ClientWebSocketResponse:
        """Open a WebSocket; the client's own errors come through."""
        before = ROUTE.set(route)
        try:
            return await self._acting.ws_connect(
                request.url,
                headers=dict(request.headers),
                max_msg_size=largest_bytes,
                ssl=route.trust,
                timeout=aiohttp.ClientWSTimeout(ws_close=1.0),
            )
        finally:
            ROUTE.reset(before)

    async def whole(self, response: aiohttp.ClientResponse, subject: str) -> Answer:
        """Read an answer to its end.

        Raises:
            UnitError: it is too large, or packed.
        """
        packing = response.headers.get("Content-Encoding", "").strip().lower()
        if packing not in _UNPACKED:
            raise UnitError(
                "its answer is packed, which wasn't asked for.",
                subject=subject,
                stands="The answer was dropped.",
            )
        content = bytearray()
        while chunk := await response.content.read(_CHUNK_BYTES):
            content += chunk
            if len(content) > self.limits.largest_answer_bytes:
                raise _too_large(self.limits.largest_answer_bytes, subject)
        lowered = {name.lower(): value for name, value in response.headers.items()}
        challenges = tuple(response.headers.getall("WWW-Authenticate", []))
        return Answer(response.status, lowered, bytes(content), challenges)

    def failure(
        self, reason: BaseException, route: Route, subject: str, *, asked: bool = False
    ) -> LinkError:
        """Word a failed exchange for a person; raise it where no exception is being handled.

        Args:
            reason: what the client says.
            route: where the request went.
            subject: the unit.
            asked: the unit was asked to do something, and may have done it.
        """
        if isinstance(reason, aiohttp.ServerFingerprintMismatch) and route.pin is not None:
            return self._pinning.changed(route.pin, reason.got.hex(), subject)
        return unreachable(reason, subject, asked=asked)


def _unscoped_host(url: str) -> dict[str, str]:
    """Return a Host header without the scope of a link-local address: it means something here alone.

    RFC 6874 §4 has it so; a unit that compares Host with its own address would refuse the other.
    """
    host = urlsplit(url).netloc.rpartition("@")[2]
    return {"Host": _SCOPE.sub("]", host)} if "%" in host else {}


def unreachable(reason: BaseException, subject: str, *, asked: bool = False) -> LinkError:
    """Word a failed exchange for a person; nothing of the reason's own text is used that may hold a secret.

    Args:
        reason: what the client says.
        subject: the unit.
        asked: the unit was asked to do something, and may have done it.
    """
    doubtful = asked and not isinstance(reason, _NEVER_SENT)
    return LinkError(
        _what_failed(reason),
        subject=subject,
        stands="What was asked of it may or may not have been done." if doubtful else "",
        next_step="Check its power and the network, then read it again.",
    )


def description_url(address: str) -> str:
    """Return where a description lies, for an address that a person typed.

    Without a scheme http is meant, without a path the well-known one.

    Raises:
        PlanError: it is no http address, or has a password in it.
    """
    url = address if "://" in address else f"http://{address}"
    try:
        parts = urlsplit(url)
        sound = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        sound = False
    if not sound:
        raise PlanError(
            "that is no address of a unit.",
            subject=address.rpartition("@")[2],
            next_step="Write it as http://ADDRESS:PORT/PATH.",
        )
    hold_no_secret(url)
    return url if parts.path.strip("/") else f"{parts.scheme}://{parts.netloc}{WELL_KNOWN_PATH}"


def hold_no_secret(url: str) -> None:
    """Refuse an address with a name or a password in it: it would be shown and kept.

    Raises:
        PlanError: that is so.
    """
    if "@" in urlsplit(url).netloc:
        raise PlanError(
            "an address of a unit holds no name and no password.",
            subject=urlsplit(url).netloc.rpartition("@")[2],
            stands="Nothing was sent.",
            next_step="Write the address alone; the password is asked for.",
        )


class _BrokenOffError(aiohttp.ClientConnectionError):
    """The unit broke off; of a kind that the client library doesn't answer by sending again."""


async def _once(
    request: aiohttp.ClientRequest, handler: aiohttp.ClientHandlerType
) -> aiohttp.ClientResponse:
    """Send a request that isn't sent again whatever happens."""
    try:
        return await handler(request)
    except aiohttp.ClientConnectorError:
        raise  # nothing was sent
    except (aiohttp.ClientOSError, aiohttp.ServerDisconnectedError):
        raise _BrokenOffError from None


def keep_room_for_arrivals() -> None:
    """Let the C library keep the memory that arrivals are read into; elsewhere it does nothing.

    asyncio reads each into a block of 256 KiB that is then cut to size. glibc maps such a block from the
    system every time, which costs more than reading a report, until a larger one was freed (mallopt(3),
    M_MMAP_THRESHOLD).
    """
    bytes(_LARGER_THAN_A_BLOCK)


def _open_session(limits: Limits, *, keep_open: bool) -> aiohttp.ClientSession:
    connector = HeldConnector(
        limit=0, force_close=not keep_open, resolver=HeldResolver(), use_dns_cache=False
    )
    waits = aiohttp.ClientTimeout(total=limits.whole_s, connect=limits.connect_s)
    return aiohttp.ClientSession(
        connector=connector,
        timeout=waits,
        cookie_jar=aiohttp.DummyCookieJar(),
        trust_env=False,
        middlewares=() if keep_open else (_once,),
        auto_decompress=False,
    )


def _what_failed(reason: BaseException) -> str:
    if isinstance(reason, aiohttp.ClientConnectorError):
        return _why_not_connected(reason)
    for kinds, words in _FAILURES:
        if isinstance(reason, kinds):
            return words
    return f"the exchange with it failed ({type(reason).__name__})."


def _why_not_connected(reason: aiohttp.ClientConnectorError) -> str:
    if isinstance(reason, aiohttp.ClientSSLError):
        return "what answers at its address speaks no https that is understood here."
    if isinstance(reason.os_error, AddressMovedError):
        return "its name now leads to another address than its description came from."
    return "nothing answers at its address."


_FAILURES: tuple[tuple[tuple[type[BaseException], ...], str], ...] = (
    ((TimeoutError,), "it didn't answer in time."),
    (
        (WanderedError,),
        "a request was about to leave for another place than the unit's, and was stopped.",
    ),
    (
        (aiohttp.ServerDisconnectedError, ConnectionError, _BrokenOffError),
        "it broke the connection off.",
    ),
    (
        (aiohttp.ClientPayloadError,),
        "it broke the connection off in the middle of its answer.",
    ),
    ((aiohttp.ClientResponseError,), "what it answered is no sound HTTP."),
)


def _too_large(limit_bytes: int, subject: str) -> UnitError:
    return UnitError(
        f"its answer is larger than {limit_bytes / (1 << 20):g} MiB.",
        subject=subject,
        stands="The answer was dropped; nothing in the inventory changed.",
    )
