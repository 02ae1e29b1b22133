"""The trials on loopback; what they find on networks with an obstacle is in tests/faults."""

import asyncio
import contextlib
import socket
import time
from datetime import UTC, datetime

from zeroconf import IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf

from fleet.discovery import trying
from fleet.discovery.hearing import hear_on
from fleet.discovery.trying import diagnose
from fleet.model.clock import HouseClock
from fleet.model.meeting import Interface, Obstacle

CLOCK = HouseClock(datetime(2026, 11, 25, tzinfo=UTC), time.monotonic(), time.monotonic)
LOOPBACK = Interface("lo", "127.0.0.1", "127.0.0.0/8", loopback=True)
KIND = "_walkdown-trying._tcp"


@contextlib.asynccontextmanager
async def advertised():
    zeroconf = AsyncZeroconf(interfaces=["127.0.0.1"], ip_version=IPVersion.V4Only)
    info = ServiceInfo(
        f"{KIND}.local.",
        f"one.{KIND}.local.",
        parsed_addresses=["127.0.0.1"],
        port=9,
        server="one.local.",
    )
    try:
        await (await zeroconf.async_register_service(info, cooperating_responders=True))
        yield
    finally:
        await zeroconf.async_unregister_all_services()
        await zeroconf.async_close()


def on_loopback(*known, heard=0):
    return diagnose(CLOCK, "lo", known, heard, service_types=(KIND,), look=lambda: (LOOPBACK,))


async def test_a_unit_that_answers_when_asked_once_more_is_told():
    async with advertised():
        found = await on_loopback()
    assert found.obstacle is Obstacle.NONE
    assert "1 unit is heard on lo" in found.reason
    assert found.tried[-1].startswith("All of it took")


async def test_with_units_heard_nothing_is_tried():
    found = await on_loopback("http://127.0.0.1:9/td", heard=2)
    assert found.obstacle is Obstacle.NONE
    assert not any("127.0.0.1:9" in line for line in found.tried)


async def test_known_units_are_asked_and_what_comes_of_it_is_told():
    server = await asyncio.start_server(lambda _, writer: writer.close(), "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        closed = held.getsockname()[1]
        urls = (
            f"http://127.0.0.1:{port}/td",
            f"http://127.0.0.1:{closed}/td",
            "http://unit.local/td",
            "gopher://127.0.0.1/",
            "http://127.0.0.1:99999/",
        )
        async with server:
            found = await on_loopback(*urls)
    told = [line for line in found.tried if line.startswith(("http", "gopher"))]
    assert told == [
        f"{urls[0]}, in the network of lo: answers.",
        f"{urls[1]}, in the network of lo: is there and refuses.",
    ]


async def test_an_interface_that_is_not_there_cannot_be_asked_on():
    gone = Interface("eth77", "203.0.113.77", "203.0.113.0/24")
    gone_six = Interface("eth77", "fe80::1%eth77", "fe80::/64")
    for each in (gone, gone_six):
        found = await hear_on(each, own=(), gateway="", alone=(), service_types=(KIND,), number=1)
        assert not found.asked
        assert found.reason


async def test_a_gateway_is_there_when_it_answers_or_its_hardware_address_turns_up(monkeypatch):
    server = await asyncio.start_server(lambda _, writer: writer.close(), "127.0.0.1", 0)
    open_port = server.sockets[0].getsockname()[1]
    async with server:
        monkeypatch.setattr(trying, "GATEWAY_PORTS", (open_port,))
        assert await trying._is_there("127.0.0.1", {}) is True
    assert await trying._is_there("", {}) is None


async def test_a_silent_gateway_is_judged_by_its_hardware_address(monkeypatch):
    async def silent(host, port):
        return trying.Answer.NOTHING

    monkeypatch.setattr(trying, "_connect", silent)
    known = {"198.51.100.1": "eth0"}
    monkeypatch.setattr(trying, "neighbours", lambda: known)
    assert await trying._is_there("198.51.100.1", {}) is True
    assert await trying._is_there("198.51.100.1", known) is None
    assert await trying._is_there("198.51.100.9", known) is False
