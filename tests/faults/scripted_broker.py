"""Brokers that misbehave as a test has it, on loopback: a few packets of MQTT written out by hand.

Layouts: MQTT 5.0 §2.1 (heads), §3.1 to §3.9 (CONNECT to SUBACK); 3.1.1 has no properties.
"""

import asyncio
import contextlib
import struct
import sys
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import aclosing

from fleet.description.forms import Form
from fleet.link.mqtt import Brokers
from fleet.link.mqtt_limits import BrokerLimits

CONNECT, PUBLISH, SUBSCRIBE, UNSUBSCRIBE = 0x10, 0x30, 0x80, 0xA0
LEVEL_5 = 5
ACCEPTED = b"\x20\x03\x00\x00\x00"

Script = Callable[["Visitor"], Awaitable[None]]


class Visitor:
    """One connection to a scripted broker."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter):
        self.reader = reader
        self.writer = writer

    async def packet(self, kind: int) -> bytes:
        """Return the next packet of a kind, without its head; others are passed over."""
        while True:
            head = (await self.reader.readexactly(1))[0]
            body = await self.reader.readexactly(await self._length())
            if head & 0xF0 == kind:
                return body

    async def send(self, data: bytes) -> None:
        self.writer.write(data)
        await self.writer.drain()

    async def let_in(self) -> bytes:
        """Read CONNECT and accept it."""
        said = await self.packet(CONNECT)
        await self.send(ACCEPTED)
        return said

    async def subscribed(self, code: int = 0) -> None:
        """Read SUBSCRIBE and grant it, or answer with another code."""
        number = (await self.packet(SUBSCRIBE))[:2]
        await self.send(b"\x90\x04" + number + b"\x00" + bytes([code]))

    async def until_gone(self) -> None:
        """Read whatever comes, until the other side is gone."""
        while await self.reader.read(1 << 16):
            pass

    async def _length(self) -> int:
        length = place = 0
        while True:
            byte = (await self.reader.readexactly(1))[0]
            length += (byte & 0x7F) << place
            if byte < 0x80:
                return length
            place += 7


def message(topic: bytes, payload: bytes, *, retain: bool = False) -> bytes:
    """Write a PUBLISH of quality 0 in MQTT 5."""
    body = struct.pack(">H", len(topic)) + topic + b"\x00" + payload
    return head_of(PUBLISH | retain, len(body)) + body


def head_of(kind: int, length: int) -> bytes:
    """Write the head of a packet."""
    written = bytearray([kind])
    while length >= 0x80:
        written.append(length & 0x7F | 0x80)
        length >>= 7
    return bytes([*written, length])


class Scripted:
    """A scripted broker.

    Attributes:
        url: its address.
        visits: how many connections it had.
    """

    def __init__(self) -> None:
        self.url = ""
        self.visits = 0


@contextlib.asynccontextmanager
async def scripted(script: Script) -> AsyncIterator[Scripted]:
    """Serve a script to each connection; its end closes the connection."""
    broker, tasks = Scripted(), set()

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        broker.visits += 1
        tasks.add(asyncio.current_task())
        with contextlib.suppress(OSError, asyncio.IncompleteReadError, asyncio.CancelledError):
            await script(Visitor(reader, writer))
        writer.close()
        with contextlib.suppress(OSError):
            await writer.wait_closed()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    broker.url = f"mqtt://127.0.0.1:{server.sockets[0].getsockname()[1]}"
    try:
        yield broker
    finally:
        server.close()
        await server.wait_closed()
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


@contextlib.asynccontextmanager
async def older(port: int, refusal: bytes = b"\x20\x02\x00\x01") -> AsyncIterator[Scripted]:
    """Stand before a real broker as one that speaks 3.1.1 alone.

    Args:
        port: of the real broker.
        refusal: what a CONNECT of MQTT 5 is answered with; b"" to break off without a word.
    """

    async def stand_between(visitor: Visitor) -> None:
        begun = await visitor.reader.readexactly(9)  # two of head, six of name, the level
        if begun[8] == LEVEL_5:
            await visitor.send(refusal)
            return
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(begun)
        onward = asyncio.ensure_future(_pour(visitor.reader, writer))
        try:
            await _pour(reader, visitor.writer)
        finally:
            writer.close()
            await asyncio.gather(onward, return_exceptions=True)

    async with scripted(stand_between) as front:
        yield front


async def _pour(source: asyncio.StreamReader, sink: asyncio.StreamWriter) -> None:
    with contextlib.suppress(OSError):
        while data := await source.read(1 << 16):
            sink.write(data)
            await sink.drain()


SHORT = BrokerLimits(
    open_s=0.3,
    accept_s=0.2,
    ready_s=0.4,
    answer_s=0.2,
    value_s=0.3,
    goodbye_s=0.1,
    first_pause_s=0.01,
    longest_pause_s=0.02,
)
PATIENT = BrokerLimits(first_pause_s=0.01, longest_pause_s=0.02, goodbye_s=0.1)


@contextlib.asynccontextmanager
async def visiting(script, limits=SHORT):
    async with scripted(script) as broker:
        brokers = Brokers(limits=limits)
        try:
            yield brokers, broker
        finally:
            await brokers.close()


def to_read(broker, topic="t"):
    return Form("readproperty", broker.url, "SUBSCRIBE", filter=topic)


def to_write(broker, topic="t", qos=1):
    return Form("writeproperty", broker.url, "PUBLISH", topic=topic, qos=qos)


def told(text):
    sys.stdout.write(text + "\n")


async def until(so):
    """Let others run until something is so."""
    async with asyncio.timeout(20):
        while not so():  # noqa: ASYNC110 - what is waited for has no event of its own
            await asyncio.sleep(0.001)


async def first_of(brokers, broker):
    async with aclosing(brokers.watch(to_read(broker), "U01")) as stream:
        return (await anext(stream))[0].data
