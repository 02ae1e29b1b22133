"""Adverts of somebody who means harm: a flood of names, text that nobody expects, others' goodbyes.

The packets are put together here, byte by byte where a library would refuse to write them, and sent to the
group on loopback.
"""

import asyncio
import contextlib
import gc
import itertools
import random
import socket
import struct
import time
import tracemalloc
from datetime import UTC, datetime

from fleet.discovery.heard_names import CHANGES_A_WINDOW, MAX_ADVERTS
from fleet.discovery.scanner import Scanner
from fleet.model.clock import HouseClock

BOGUS = 10_000
MOST_MEMORY_BYTES = 60 * 2**20
CLOCK = HouseClock(datetime(2026, 11, 25, tzinfo=UTC), time.monotonic(), time.monotonic)
GROUP = ("224.0.0.251", 5353)
KIND = b"\x0c_walkdown-hs\x04_tcp\x05local\x00"
TYPE = "_walkdown-hs._tcp"
PTR, TXT, SRV, A = 12, 16, 33, 1
HOUR_S = 4500


def label(text):
    raw = text if isinstance(text, bytes) else text.encode()
    return bytes([len(raw)]) + raw


def record(name, kind, data, life_s=HOUR_S, flush=0x8000):
    head = struct.pack(">HHIH", kind, 1 | (0 if kind == PTR else flush), life_s, len(data))
    return name + head + data


def packet(*records):
    return struct.pack(">HHHHHH", 0, 0x8400, 0, len(records), 0, 0) + b"".join(records)


def advert(instance, address="127.6.6.1", port=80, text=b"\x00", host=None, life_s=HOUR_S):
    name = label(instance) + KIND
    server = label(host or instance) + b"\x05local\x00"
    return packet(
        record(KIND, PTR, name, life_s),
        record(name, SRV, struct.pack(">HHH", 0, 0, port) + server),
        record(name, TXT, text),
        record(server, A, socket.inet_aton(address)),
    )


def goodbye(instance):
    return packet(record(KIND, PTR, label(instance) + KIND, life_s=0))


@contextlib.asynccontextmanager
async def shouting():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as shout:
        shout.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton("127.0.0.1"))
        yield lambda data: shout.sendto(data, GROUP)


class Listener:
    """A scanner on loopback, and what it told."""

    def __init__(self, **options):
        self.sightings = []
        self.goodbyes = []
        self._changed = asyncio.Event()
        self.scanner = Scanner(
            CLOCK,
            self._take,
            interface="127.0.0.1",
            service_types=(TYPE,),
            on_goodbye=self._leave,
            look_every_s=0.05,
            **options,
        )

    def _take(self, sighting):
        self.sightings.append(sighting)
        self._changed.set()

    def _leave(self, name):
        self.goodbyes.append(name)
        self._changed.set()

    async def until(self, holds):
        async with asyncio.timeout(30):
            while not holds():
                self._changed.clear()
                await self._changed.wait()

    async def hears(self, shout, name, **parts):
        """Advertise a name until it is heard, as a unit does."""
        data = advert(name, **parts)
        await self.shouts(
            shout, data, lambda: any(sighting.name == name for sighting in self.sightings)
        )

    async def shouts(self, shout, data, holds):
        """Send a packet every second until something holds: in a flood a socket drops some."""
        async with asyncio.timeout(60):
            while not holds():
                shout(data)
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(1.0):
                        await self.until(holds)


async def flood(shout, count):
    """Send bogus adverts, complete ones and bare pointers, at a pace that a socket holds."""
    for number in range(count):
        name = f"bogus-{number}"
        shout(
            advert(name, f"127.6.{number % 250}.{number // 250 % 250 + 1}")
            if number % 3
            else packet(record(KIND, PTR, label(name) + KIND))
        )
        if number % 40 == 0:
            for _ in range(80):  # a loop's round takes one packet in
                await asyncio.sleep(0)


async def test_a_flood_of_bogus_adverts_keeps_no_known_unit_out():
    listener = Listener(expected_hosts=["expected.local"])
    async with shouting() as shout, listener.scanner:
        await listener.hears(shout, "before", address="127.6.6.8")
        await flood(shout, BOGUS)
        assert len(listener.scanner.sightings) <= MAX_ADVERTS + 2
        await listener.hears(shout, "later", host="expected")
        listener.scanner.expect(urls=["http://127.6.6.9:80/"])
        await listener.hears(shout, "by-address", address="127.6.6.9")
        listener.scanner.doubt(next(each for each in listener.sightings if "bogus" in each.name))
        await listener.hears(shout, "stranger", address="127.6.6.10")
        moved = "http://127.6.6.7:80/"
        known = f"before.{TYPE}.local."
        await listener.shouts(
            shout,
            advert("before", "127.6.6.7"),
            lambda: listener.scanner.sightings[known].url == moved,
        )
        heard, refused = len(listener.scanner.sightings), listener.scanner.refused
    print(f"{BOGUS} bogus adverts: {heard} listed, {refused} refused")  # noqa: T201 - the count tried is to be seen
    assert heard > MAX_ADVERTS // 2  # else the flood never came through and this shows nothing


async def test_a_flood_leaves_memory_bounded():
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        await flood(shout, BOGUS // 2)
        gc.collect()
        tracemalloc.start()
        await flood(shout, BOGUS)
        gc.collect()
        grown, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
    print(f"{BOGUS} bogus adverts: {grown // 1024} KiB")  # noqa: T201 - the count tried is to be seen
    assert grown < MOST_MEMORY_BYTES


async def test_after_very_many_names_the_listener_is_opened_anew(monkeypatch):
    monkeypatch.setattr("fleet.discovery.scanner.RENEW_AFTER", 20)
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        first = listener.scanner._listening
        for number in itertools.count():
            shout(advert(f"many-{number}"))
            await asyncio.sleep(0.01)
            if listener.scanner._listening not in (first, None):
                break
        await listener.hears(shout, "after")


async def test_a_goodbye_in_anothers_name_is_told_once_and_forgets_nobody():
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        await listener.hears(shout, "alive")
        shout(goodbye("alive"))
        shout(goodbye("never-heard"))
        await listener.until(lambda: listener.goodbyes)
        assert listener.scanner.goodbyes == {"alive"}
        assert len(listener.scanner.sightings) == 1
        shout(advert("alive", port=81))
        await listener.until(lambda: len(listener.sightings) == 2)
        assert not listener.scanner.goodbyes
    assert listener.goodbyes == ["alive"]


async def test_a_name_that_moves_all_the_time_is_told_a_few_times_only():
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        for port in range(1000, 1060):
            shout(advert("torn", port=port))
            await asyncio.sleep(0)
        await listener.until(lambda: len(listener.sightings) > CHANGES_A_WINDOW)
        await listener.hears(shout, "other")
        assert listener.scanner.disputed == {"torn"}
    assert sum(sighting.name == "torn" for sighting in listener.sightings) <= CHANGES_A_WINDOW + 1


async def test_names_and_text_are_made_safe_to_show():
    text = b"".join(
        label(part)
        for part in (
            b"=nokey",
            b"A=1",
            b"a=2",
            b"b\x00ad=x",
            b"\xff=x",
            b"v=\xff\xfe",
            b"m=<i>\xe2\x80\xae\n",
        )
    )
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        shout(advert("\u202e<b>Evil</b>\x07\n name", text=text + b"\x30cut", host="evil"))
        await listener.until(lambda: listener.sightings)
    (sighting,) = listener.sightings
    assert sighting.name == "‹b›Evil‹/b› name"
    assert sighting.txt == {"a": "1", "m": "‹i›"}


async def test_pointers_to_anything_else_are_passed_over():
    elsewhere = label("x") + b"\x05_http\x04_tcp\x05local\x00"
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        for target in (
            b"\x00",
            KIND,
            elsewhere,
            label("unit") + b"\x05local\x00",
            b"\xc0\x0c",
            b"\xc0\xff",
        ):
            shout(packet(record(KIND, PTR, target)))
        for address in ("224.0.0.251", "127.255.255.255", "1.2.3.4"):
            shout(advert(f"to-{address}", address))
        await listener.hears(shout, "good")
    assert [sighting.name for sighting in listener.sightings] == ["good"]


async def test_packets_of_noise_and_broken_adverts_stop_nothing():
    dice = random.Random(7)
    whole = advert("noise", text=b"\x04td=/")
    listener = Listener()
    async with shouting() as shout, listener.scanner:
        for number in range(1500):
            data = bytearray(whole if number % 3 else dice.randbytes(dice.randrange(1, 400)))
            for _ in range(dice.randrange(1, 6)):
                data[dice.randrange(len(data))] = dice.randrange(256)
            shout(bytes(data[: dice.randrange(1, len(data) + 1)]))
            if number % 40 == 0:
                await asyncio.sleep(0.005)
        await listener.hears(shout, "good")
