"""Playing the installer of a simulated house: where they walk, through the house's stage port.

A real installer walks in person; here somebody has to be told to. The engine doesn't know that this exists:
`PlayedVisit` sends the person into a room first and then runs the same lap that a real visit runs.
"""

import asyncio
import contextlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from fleet.engine.handing_over import KeySource
from fleet.engine.visit import Visit
from fleet.inventory.inventory import Inventory
from fleet.model.clock import Clock
from fleet.model.house import HousePlan, Room
from fleet.simulator.stage_client import StageClient
from fleet.trials.lap import Stand

PERSON = "installer"
STROLL_STAND_S = 1.0
SCAN_S = 10.0


class Installer:
    """One person in the simulated house."""

    def __init__(self, stage: StageClient, plan: HousePlan) -> None:
        """Begin outside the house."""
        self._stage = stage
        self._rooms: Mapping[str, Room] = {room.key: room for room in plan.rooms}

    async def shut_doors(self) -> None:
        """Shut every door of the house."""
        await self._stage.doors(opened=False)

    async def go_to(self, room: str, stand: Stand) -> None:
        """Walk to a marked point of a room, and wait until there."""
        await self._stage.walk(PERSON, self._rooms[room].floor, [(stand.at_mm, 0.0)])

    async def begin_route(self, room: str, stands: Sequence[Stand]) -> None:
        """Set out on a room's route; returns when the first step is taken."""
        route = [(stand.at_mm, stand.until_s - stand.from_s) for stand in stands]
        cue = await self._stage.begin_walk(PERSON, self._rooms[room].floor, route)
        await cue.started()

    async def stroll(self, routes: Mapping[str, Sequence[Stand]]) -> None:
        """Wander from room to room until cancelled, so that a window has something to show."""
        while True:
            for room, stands in routes.items():
                route = [(stand.at_mm, STROLL_STAND_S) for stand in stands]
                await self._stage.walk(PERSON, self._rooms[room].floor, route)

    async def leave(self) -> None:
        """Leave the house."""
        await self._stage.leave(PERSON)


class PlayedVisit(Visit):
    """A visit whose installer is played; everything else is a visit's own."""

    def __init__(
        self,
        inventory: Inventory,
        clock: Clock,
        installer: Installer,
        *,
        address: str,
        key_source: KeySource,
        shelf: Path | None = None,
    ) -> None:
        """Make a visit to the units at one loopback address; `installer` walks where the lap prompts."""
        super().__init__(
            inventory,
            clock,
            interface=address,
            within=f"{address}/32",
            key_source=key_source,
            shelf=shelf,
        )
        self._installer = installer
        self._strolling: asyncio.Task[None] | None = None
        self._house: contextlib.AsyncExitStack | None = None
        self._scanning: asyncio.Task[int] | None = None

    def close_with(self, house: contextlib.AsyncExitStack) -> None:
        """Have the simulated house and the inventory closed when the visit stops."""
        self._house = house

    async def start(self) -> None:
        """Open the visit; in a window, listen at once, and let the installer wander about meanwhile."""
        await super().start()
        if self._house is not None:
            self.stroll()
            self._scanning = asyncio.ensure_future(self.scan(SCAN_S))

    async def finish_lap(self) -> None:
        """Work the lap out; in a window, the installer wanders on."""
        await super().finish_lap()
        if self._house is not None:
            self.stroll()

    async def walk_room(self, room: str) -> None:
        """Send the installer in, then run the room's minute."""
        await self.stop_strolling()
        stands = self.route_of(room)
        await self._installer.shut_doors()
        await self._installer.go_to(room, stands[0])
        await self._installer.begin_route(room, stands)
        await super().walk_room(room)

    def stroll(self) -> None:
        """Have the installer wander through the house until the next lap."""
        routes = {room.key: self.route_of(room.key) for room in self.snapshot().house.plan.rooms}
        self._strolling = asyncio.ensure_future(self._installer.stroll(routes))

    async def stop_strolling(self) -> None:
        """Have the installer stop wandering."""
        if self._strolling is not None:
            self._strolling.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._strolling
            self._strolling = None

    async def stop(self) -> None:
        """Stop the person, then the visit."""
        await self.stop_strolling()
        if self._scanning is not None:
            self._scanning.cancel()
            await asyncio.gather(self._scanning, return_exceptions=True)
        await super().stop()
        if self._house is not None:
            await self._house.aclose()
