"""One HTTP client for the visit: how many connections, how long each wait, how large each answer.

Rules that hold for every request to a unit:

1. Every wait has an end: connecting, the next bytes, the whole of a plain answer. A stream has no total
   limit, only one for silence.
2. Every answer has a size limit, checked while it arrives.
3. No redirect is followed: a unit speaks for its own origin alone.
4. No proxy and no cookies: units are on the local network and know nobody.
"""

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

import aiohttp

from fleet.model.errors import LinkError, PlanError, UnitError

CONNECT_S = 3.0
SILENCE_S = 5.0
WHOLE_S = 10.0
STREAM_SILENCE_S = 15.0
LARGEST_ANSWER_BYTES = 1 << 20
UNITS_AT_ONCE = 32
WELL_KNOWN_PATH = "/.well-known/wot"  # W3C WoT Discovery, Recommendation of 5 December 2023


@dataclass(frozen=True, slots=True)
class Answer:
    """What a unit answered: status, headers in lower case, and the whole body."""

    status: int
    headers: Mapping[str, str]
    body: bytes


def open_session() -> aiohttp.ClientSession:
    """Return the client session of a visit; the caller closes it. Call it in the running loop."""
    connector = aiohttp.TCPConnector(limit=0, force_close=False)
    timeout = aiohttp.ClientTimeout(total=WHOLE_S, connect=CONNECT_S, sock_read=SILENCE_S)
    return aiohttp.ClientSession(
        connector=connector, timeout=timeout, cookie_jar=aiohttp.DummyCookieJar(), trust_env=False
    )


async def exchange(
    session: aiohttp.ClientSession,
    method: str,
    url: str,
    headers: Mapping[str, str],
    body: bytes | None,
    *,
    subject: str,
) -> Answer:
    """Send one request and read the whole answer.

    Args:
        session: the visit's session.
        method, url, headers, body: the request.
        subject: the unit, for messages.

    Raises:
        LinkError: the unit can't be reached or stopped answering.
        UnitError: the answer is too large.
    """
    try:
        async with session.request(
            method, url, headers=dict(headers), data=body, allow_redirects=False
        ) as response:
            content = await _read_bounded(response, subject)
            lowered = {name.lower(): value for name, value in response.headers.items()}
            return Answer(response.status, lowered, content)
    except (aiohttp.ClientError, TimeoutError, OSError) as reason:
        raise unreachable(reason, subject, asked=method != "GET") from reason


def unreachable(reason: BaseException, subject: str, *, asked: bool = False) -> LinkError:
    """Word a failed exchange for a person.

    Args:
        reason: what the client says.
        subject: the unit.
        asked: the unit was asked to do something, and may have done it.
    """
    return LinkError(
        _what_failed(reason),
        subject=subject,
        stands="What was asked of it may or may not have been done." if asked else "",
        next_step="Check its power and the network, then read it again.",
    )


def description_url(address: str) -> str:
    """Return where a description lies, for an address that a person typed.

    Without a scheme http is meant, without a path the well-known one.

    Raises:
        PlanError: it is no http address.
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
            subject=address,
            next_step="Write it as http://ADDRESS:PORT/PATH.",
        )
    return url if parts.path.strip("/") else f"{parts.scheme}://{parts.netloc}{WELL_KNOWN_PATH}"


def _what_failed(reason: BaseException) -> str:
    if isinstance(reason, TimeoutError):
        return "it didn't answer in time."
    if isinstance(reason, aiohttp.ClientConnectorError):
        return "nothing answers at its address."
    if isinstance(reason, aiohttp.ServerDisconnectedError):
        return "it broke the connection off."
    return f"{str(reason) or type(reason).__name__}."


async def _read_bounded(response: aiohttp.ClientResponse, subject: str) -> bytes:
    content = bytearray()
    async for chunk in response.content.iter_chunked(1 << 14):
        content += chunk
        if len(content) > LARGEST_ANSWER_BYTES:
            raise UnitError(
                f"its answer is larger than {LARGEST_ANSWER_BYTES >> 20} MiB.",
                subject=subject,
                stands="The answer was dropped; nothing in the inventory changed.",
            )
    return bytes(content)


class Courtesy:
    """One request at a time for each unit, and a bounded number of units at once."""

    def __init__(self) -> None:
        """Start with nobody waiting."""
        self._units = asyncio.Semaphore(UNITS_AT_ONCE)
        self._turns: dict[str, asyncio.Lock] = {}

    def turn(self, origin: str) -> asyncio.Lock:
        """Return the lock of one unit, by its origin."""
        return self._turns.setdefault(origin, asyncio.Lock())

    @property
    def units(self) -> asyncio.Semaphore:
        """The semaphore that bounds how many units are talked to at once."""
        return self._units
