"""A simulated house that runs: units on their ports, adverts, stage, one scheduler."""

import asyncio
import socket
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass

from aiohttp import web

from fleet.model.clock import Clock
from fleet.model.house import HousePlan
from fleet.simulator.adverts import Advert, announced
from fleet.simulator.bandwidth import Bandwidth
from fleet.simulator.names import DESCRIPTION_PATH
from fleet.simulator.server import app_of
from fleet.simulator.stage import MOST_LINE_BYTES, Stage
from fleet.simulator.ticking import keep_ticking
from fleet.simulator.truth import Truth
from fleet.simulator.unit import SimulatedUnit
from fleet.simulator.world import World, world_of


@dataclass(frozen=True, slots=True)
class Served:
    """Where a unit of the house is.

    Attributes:
        serial: what it says of itself.
        url: of its description.
        firmware_fault: what will go wrong when it takes another image, for tests; "" for nothing.
    """

    serial: str
    url: str
    firmware_fault: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """A house that runs.

    Attributes:
        units: where each unit is, in the order of the truth.
        stage_host, stage_port: where directions are taken.
        world: its state, for tests.
    """

    units: tuple[Served, ...]
    stage_host: str
    stage_port: int
    world: World


@asynccontextmanager
async def running_house(
    plan: HousePlan,
    truth: Truth,
    *,
    clock: Clock,
    seed: int = 1,
    address: str = "127.0.0.1",
    announce: bool = True,
    bandwidth_bps: int = 0,
) -> AsyncIterator[Place]:
    """Run a house while the context lasts.

    Args:
        plan, truth: the house.
        clock: house time, at its speed.
        seed: of everything that is left to chance.
        address: a loopback address for every port.
        announce: advertise the units over mDNS.
        bandwidth_bps: bits a wall second in which all units together take images in; 0 for no bound.

    Raises:
        OSError: there is no such address on this machine.
    """
    world = world_of(plan, truth, seed)
    stage, bandwidth = Stage(world), Bandwidth(bandwidth_bps, clock)

    def step(tick: int, time: str) -> None:
        stage.before_tick(tick, time)
        world.step(tick, time)

    async with AsyncExitStack() as stack:
        ports = [
            await stack.enter_async_context(_served(unit, address, bandwidth))
            for _, unit in world.units
        ]
        stage_port = await stack.enter_async_context(_stage_served(stage, address))
        await stack.enter_async_context(_in_background(clock, step))
        if announce:
            await stack.enter_async_context(announced(_adverts(world, address, ports), address))
        units = tuple(
            Served(
                unit.truth.serial,
                f"http://{address}:{port}{DESCRIPTION_PATH}",
                unit.truth.firmware_fault or "",
            )
            for (_, unit), port in zip(world.units, ports, strict=True)
        )
        yield Place(units, address, stage_port, world)


@asynccontextmanager
async def _in_background(clock: Clock, step: Callable[[int, str], None]) -> AsyncIterator[None]:
    """Tick while the context lasts; a failure of the ticks ends it."""
    try:
        async with asyncio.TaskGroup() as tasks:
            ticking = tasks.create_task(keep_ticking(clock, step), name="the house's ticks")
            yield
            ticking.cancel()
    except BaseExceptionGroup as group:
        raise group.exceptions[0] from None


@asynccontextmanager
async def _served(unit: SimulatedUnit, address: str, bandwidth: Bandwidth) -> AsyncIterator[int]:
    """Serve a unit on a port of its own."""
    with socket.create_server((address, 0), backlog=128) as listening:
        port: int = listening.getsockname()[1]
        app = app_of(unit, f"http://{address}:{port}/", bandwidth)
        runner = web.AppRunner(
            app, access_log=None, handler_cancellation=True, shutdown_timeout=0.5
        )
        await runner.setup()
        try:
            await web.SockSite(runner, listening).start()
            yield port
        finally:
            unit.streams.reset()
            await runner.cleanup()


@asynccontextmanager
async def _stage_served(stage: Stage, address: str) -> AsyncIterator[int]:
    server = await asyncio.start_server(stage.serve, address, 0, limit=MOST_LINE_BYTES)
    try:
        yield server.sockets[0].getsockname()[1]
    finally:
        server.close()
        for writer in tuple(stage.connections):
            writer.transport.abort()
        await server.wait_closed()


def _adverts(world: World, address: str, ports: Sequence[int]) -> list[Advert]:
    """Name each advert by the serial; a serial that stands twice gets its port as well."""
    serials = [unit.truth.serial for _, unit in world.units]
    return [
        Advert(_instance(serial, port, once=serials.count(serial) == 1), address, port)
        for serial, port in zip(serials, ports, strict=True)
    ]


def _instance(serial: str, port: int, *, once: bool) -> str:
    plain = "".join(letter if letter.isalnum() else "-" for letter in serial.lower())[:40]
    return f"unit-{plain}" if once else f"unit-{plain}-{port}"
