"""A unit at the bare socket, that misbehaves byte by byte; and an address that nobody may come to."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field

from tests.unit.link.small_unit import description

Writes = Callable[[asyncio.StreamReader, asyncio.StreamWriter], Awaitable[None]]


@dataclass(slots=True)
class RawUnit:
    """What a raw server is asked, and how it behaves.

    Attributes:
        behave: writes the answer to any request but that for the description.
        heads: the head of each request that came.
        port: where it listens.
        tasks: what it is doing.
    """

    behave: Writes
    heads: list[bytes] = field(default_factory=list)
    port: int = 0
    everywhere: bool = False
    document: bytes = json.dumps(description()).encode()
    tasks: set[asyncio.Task[None]] = field(default_factory=set)

    @property
    def url(self) -> str:
        """Where its description lies."""
        return f"http://127.0.0.1:{self.port}/td"

    async def talk(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Answer request after request on one connection."""
        with contextlib.suppress(ConnectionError, asyncio.IncompleteReadError):
            while True:
                head = await reader.readuntil(b"\r\n\r\n")
                self.heads.append(head)
                if head.startswith(b"GET /td ") and not self.everywhere:
                    writer.write(ok(self.document))
                else:
                    await self.behave(reader, writer)
                await writer.drain()

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Talk until the other side leaves or the test is over."""
        task = asyncio.current_task()
        self.tasks.add(task)
        try:
            await self.talk(reader, writer)
        except asyncio.CancelledError:
            pass  # the test is over
        finally:
            self.tasks.discard(task)
            writer.close()


@contextlib.asynccontextmanager
async def listening(
    unit: RawUnit, host: str = "127.0.0.1", port: int = 0
) -> AsyncIterator[RawUnit]:
    """Let a raw unit listen; its connections end with the block."""
    server = await asyncio.start_server(unit.serve, host, port)
    unit.port = server.sockets[0].getsockname()[1]
    try:
        yield unit
    finally:
        server.close()
        tasks = list(unit.tasks)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await server.wait_closed()


def ok(body: bytes, *headers: bytes) -> bytes:
    """Return a whole answer 200."""
    return answer(b"200 OK", body, *headers)


def answer(status: bytes, body: bytes, *headers: bytes) -> bytes:
    """Return a whole answer."""
    lines = [b"HTTP/1.1 " + status, b"Content-Length: %d" % len(body), *headers]
    return b"\r\n".join(lines) + b"\r\n\r\n" + body


def writing(data: bytes, *, then: str = "stay") -> Writes:
    """Return a behaviour: write this, then stay, close, or reset the connection."""

    async def behave(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(data)
        await writer.drain()
        if then == "close":
            writer.close()
        elif then == "reset":
            writer.transport.abort()
        elif then == "hang":
            await asyncio.Event().wait()

    return behave


def dripping(data: bytes, every_s: float, head: bytes = b"") -> Writes:
    """Return a behaviour: write the head at once and the rest byte by byte."""

    async def behave(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(head)
        for byte in data:
            writer.write(bytes([byte]))
            await writer.drain()
            await asyncio.sleep(every_s)

    return behave


def repeating(head: bytes, chunk: bytes, most: int) -> Writes:
    """Return a behaviour: write the head and then a chunk again and again, up to `most` bytes."""

    async def behave(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(head)
        for _ in range(most // len(chunk)):
            writer.write(chunk)
            await writer.drain()

    return behave
