"""The stage port: where whoever plays the people of the house says what they do.

It stands outside mDNS and descriptions: nothing that reads units can see it. JSON lines over TCP on
loopback. A request is a direction of `directions`; it begins with the next tick. Replies:

    {"id": n, "started": RFC 3339}   it began, house time
    {"id": n, "done": RFC 3339}      the route's end was reached, the sitting time is over
    {"id": n, "error": "text"}       it can't be, or another direction to the same person took over
"""

import asyncio
import contextlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field

import msgspec

from fleet.simulator.directions import Begun, Direction, NotPossibleError, begin, read_direction
from fleet.simulator.world import World

MOST_LINE_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class _Running:
    direction_id: int
    reply: Callable[[dict[str, object]], None]
    begun: Begun


@dataclass(slots=True)
class Stage:
    """Directions that wait for the next tick, and those that run."""

    world: World
    waiting: list[tuple[Direction, Callable[[dict[str, object]], None]]] = field(
        default_factory=list
    )
    running: list[_Running] = field(default_factory=list)
    connections: set[asyncio.StreamWriter] = field(default_factory=set)

    def before_tick(self, tick: int, time: str) -> None:
        """Begin what was asked for since the last tick, and say what is done."""
        if self.running:
            self._end(tick, time)
        if self.waiting:
            waiting, self.waiting = self.waiting, []
            for direction, reply in waiting:
                self._begin(direction, reply, tick, time)
            self._end(tick, time)

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Take directions from one connection until it ends."""

        def reply(message: dict[str, object]) -> None:
            if not writer.is_closing():
                writer.write(json.dumps(message).encode() + b"\n")

        self.connections.add(writer)
        try:
            while line := await reader.readline():
                self._take(line, reply)
        except (ConnectionError, ValueError):  # gone, or a line without end
            pass
        finally:
            self.connections.discard(writer)
            writer.close()
            with contextlib.suppress(ConnectionError):
                await writer.wait_closed()

    def _take(self, line: bytes, reply: Callable[[dict[str, object]], None]) -> None:
        try:
            self.waiting.append((read_direction(line), reply))
        except NotPossibleError as reason:
            reply({"id": _id_in(line), "error": str(reason)})

    def _begin(
        self,
        direction: Direction,
        reply: Callable[[dict[str, object]], None],
        tick: int,
        time: str,
    ) -> None:
        try:
            begun = begin(self.world, direction, tick)
        except NotPossibleError as reason:
            reply({"id": direction.id, "error": str(reason)})
            return
        for earlier in [r for r in self.running if begun.person and r.begun.person == begun.person]:
            self.running.remove(earlier)
            earlier.reply({"id": earlier.direction_id, "error": f"{begun.person} does another"})
        reply({"id": direction.id, "started": time})
        self.running.append(_Running(direction.id, reply, begun))

    def _end(self, tick: int, time: str) -> None:
        for running in [r for r in self.running if r.begun.done_tick <= tick]:
            self.running.remove(running)
            running.reply({"id": running.direction_id, "done": time})


def _id_in(line: bytes) -> int | None:
    try:
        message = msgspec.json.decode(line)
    except (msgspec.DecodeError, RecursionError):
        return None
    number = message.get("id") if isinstance(message, dict) else None
    return number if isinstance(number, int) else None
