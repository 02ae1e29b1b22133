"""A unit fetches an image by itself: one plain HTTP/1.0 request, as small as a unit's own would be.

It speaks http alone, follows no redirect, and takes exactly as many octets as it was told.
"""

import asyncio
from urllib.parse import SplitResult, urlsplit

from fleet.simulator.bandwidth import Bandwidth
from fleet.simulator.figures import FETCH_IDLE_S
from fleet.simulator.intake import CutError, NotTakenError, take_in
from fleet.simulator.orders import FETCH, TIMEOUT, Order
from fleet.simulator.unit import SimulatedUnit

_MOST_HEAD_BYTES = 16 * 1024
_HTTP_PORT = 80


async def pull(unit: SimulatedUnit, number: int, order: Order, bandwidth: Bandwidth) -> None:
    """Fetch the image of an order that has begun, by the number of its fetch.

    What goes wrong becomes the reason that the unit tells.
    """
    installer = unit.installer
    try:
        await _pulled(unit, number, order, bandwidth)
    except CutError:
        pass
    except NotTakenError as failed:
        if installer.fetching(number):
            installer.fail(failed.reason)
    finally:
        if installer.fetching(number):
            installer.fail(FETCH)


def is_fetchable(url: str) -> bool:
    """Say whether a unit could fetch from this address at all."""
    try:
        split = urlsplit(url)
        return split.scheme == "http" and bool(split.hostname) and (split.port or _HTTP_PORT) > 0
    except ValueError:
        return False


async def _pulled(unit: SimulatedUnit, number: int, order: Order, bandwidth: Bandwidth) -> None:
    split = urlsplit(order.url)
    reader, writer = await _opened(split)
    unit.streams.held.add(writer.transport)
    try:
        writer.write(_request_to(split))
        if await _length_answered(reader) not in {None, order.size}:
            raise NotTakenError(FETCH)
        await take_in(unit, number, reader, bandwidth)
    finally:
        unit.streams.held.discard(writer.transport)
        writer.transport.abort()


async def _opened(split: SplitResult) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    try:
        async with asyncio.timeout(FETCH_IDLE_S):
            return await asyncio.open_connection(
                split.hostname, split.port or _HTTP_PORT, limit=_MOST_HEAD_BYTES
            )
    except TimeoutError as reason:
        raise NotTakenError(TIMEOUT) from reason
    except OSError as reason:
        raise NotTakenError(FETCH) from reason


def _request_to(split: SplitResult) -> bytes:
    target = (split.path or "/") + (f"?{split.query}" if split.query else "")
    host = split.netloc.rpartition("@")[2]
    lines = (f"GET {target} HTTP/1.0", f"Host: {host}", "Accept: application/octet-stream", "", "")
    return "\r\n".join(lines).encode()


async def _length_answered(reader: asyncio.StreamReader) -> int | None:
    """Read the head of an answer; return the length that it says, None for none."""
    try:
        async with asyncio.timeout(FETCH_IDLE_S):
            head = await reader.readuntil(b"\r\n\r\n")
    except TimeoutError as reason:
        raise NotTakenError(TIMEOUT) from reason
    except (OSError, asyncio.IncompleteReadError, asyncio.LimitOverrunError) as reason:
        raise NotTakenError(FETCH) from reason
    first, *lines = head.decode("latin-1").split("\r\n")
    if first.split(" ")[1:2] != ["200"]:
        raise NotTakenError(FETCH)
    said = (line.partition(":") for line in lines)
    lengths = [value.strip() for name, _, value in said if name.lower() == "content-length"]
    return int(lengths[0]) if lengths and lengths[0].isdecimal() else None
