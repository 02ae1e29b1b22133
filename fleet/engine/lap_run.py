"""The lap of a visit: room after room, and what it proves in the end."""

import asyncio
from dataclasses import replace

from fleet.engine.evidence_store import save_lap, save_losses
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.lap_recorder import RoomRecorder, prompt_through
from fleet.engine.operations import OperationBook
from fleet.engine.publishing import Publisher
from fleet.inventory.inventory import Inventory
from fleet.model.clock import Clock, to_rfc3339
from fleet.model.house import Room
from fleet.trials.lap import RoomWalk
from fleet.trials.lap_evidence import evaluate_lap


class LapRun:
    """What was walked so far at a visit."""

    def __init__(
        self,
        inventory: Inventory,
        fleet: FleetWatch,
        publisher: Publisher,
        operations: OperationBook,
        clock: Clock,
    ) -> None:
        """Begin with no room walked."""
        self._inventory = inventory
        self._fleet = fleet
        self._publisher = publisher
        self._operations = operations
        self._clock = clock
        self._walks: dict[str, RoomWalk] = {}
        self._walked_at: dict[str, str] = {}

    async def walk(self, room: Room) -> None:
        """Run one room's minute; call it when the person is there and the doors are shut."""
        began_s = self._clock.monotonic_s()
        recorder = RoomRecorder(room, self._fleet.serials, began_s)
        stop_listening = self._fleet.listen(recorder.take)
        try:
            with self._operations.begin(f"Lap: {room.name}") as operation:

                def say(prompt: str, done: float) -> None:
                    self._publisher.prompt = prompt
                    operation.say(prompt, done)

                await prompt_through(recorder, self._clock, began_s, say)
        finally:
            stop_listening()
            self._publisher.prompt = ""
        self._walks[room.key] = recorder.walk()
        self._walked_at[room.key] = to_rfc3339(self._clock.now())

    def forget(self, room: str, serial: str) -> None:
        """Take back what was walked of a unit that was swapped: its room whole, and its part of the others.

        Args:
            room: key of its room.
            serial: whose reports no longer count.
        """
        self._walks.pop(room, None)
        self._walked_at.pop(room, None)
        for key, walk in self._walks.items():
            others = {unit: window for unit, window in walk.windows.items() if unit != serial}
            self._walks[key] = replace(walk, windows=others)

    async def finish(self) -> None:
        """Work out what the walked rooms prove, and keep it."""
        plan = self._inventory.plan()
        self._publisher.lap = await asyncio.to_thread(
            evaluate_lap, plan, tuple(self._walks.values()), dict(self._walked_at)
        )
        save_lap(self._inventory, self._publisher.lap)
        save_losses(self._inventory, self._publisher.live())
        self._publisher.refresh()
