"""A client of the stage port, for whoever plays the people of a simulated house."""

import asyncio
import contextlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import TracebackType
from typing import Any, Self

from fleet.model.clock import from_rfc3339
from fleet.model.errors import LinkError, PlanError

Stop = tuple[tuple[int, int], float]
"""A point of a route in mm on the floor's plan, and the seconds to stay there."""


@dataclass(frozen=True, slots=True)
class Times:
    """When a direction began and when it was done, house time of the simulator."""

    started: datetime
    done: datetime


class Cue:
    """A direction that was sent: it begins, then it is done."""

    def __init__(self) -> None:
        """Start with nothing known."""
        loop = asyncio.get_running_loop()
        self._started: asyncio.Future[datetime] = loop.create_future()
        self._done: asyncio.Future[datetime] = loop.create_future()

    async def started(self) -> datetime:
        """Wait until it begins.

        Raises:
            PlanError: the house can't do it.
            LinkError: the simulator is gone.
        """
        return await asyncio.shield(self._started)

    async def times(self) -> Times:
        """Wait until it is done.

        Raises:
            PlanError: the house can't do it, or another direction took over.
            LinkError: the simulator is gone.
        """
        return Times(await self.started(), await asyncio.shield(self._done))

    def hear(self, message: Mapping[str, Any]) -> bool:
        """Take in a reply; return whether it was the last."""
        if "started" in message:
            _settle(self._started, from_rfc3339(message["started"]))
            return False
        if "done" in message:
            _settle(self._done, from_rfc3339(message["done"]))
        else:
            reason = str(message.get("error", message))
            self.fail(PlanError(f"the stage refused: {reason}.", next_step="Ask otherwise."))
        return True

    def fail(self, reason: Exception) -> None:
        """End it with an error."""
        for future in (self._started, self._done):
            if not future.done():
                future.set_exception(reason)
                future.exception()  # it may be that nobody waits for this half


def _settle(future: asyncio.Future[datetime], value: datetime) -> None:
    if not future.done():
        future.set_result(value)


class StageClient:
    """Directs the people of a simulated house; `async with StageClient(host, port) as stage`."""

    def __init__(self, host: str, port: int) -> None:
        """Keep the place of the stage port."""
        self._host, self._port = host, port
        self._cues: dict[int, Cue] = {}
        self._last_id = 0
        self._gone: Exception | None = None

    async def __aenter__(self) -> Self:
        """Connect.

        Raises:
            LinkError: nobody listens there.
        """
        try:
            self._reader, self._writer = await asyncio.open_connection(self._host, self._port)
        except OSError as reason:
            raise _gone(self._host, self._port) from reason
        self._listening = asyncio.create_task(self._listen())
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Disconnect; the people stay where they are."""
        self._writer.close()
        await self._listening
        with contextlib.suppress(ConnectionError):
            await self._writer.wait_closed()

    async def begin(self, **direction: object) -> Cue:
        """Send a direction as it stands in the stage's protocol, without waiting for it.

        Raises:
            LinkError: the simulator is gone.
        """
        if self._gone is not None:
            raise self._gone
        self._last_id += 1
        cue = self._cues[self._last_id] = Cue()
        self._writer.write(json.dumps({"id": self._last_id, **direction}).encode() + b"\n")
        with contextlib.suppress(ConnectionError):  # the listening half says it to the cue
            await self._writer.drain()
        return cue

    async def begin_walk(
        self, person: str, floor: str, route: Sequence[Stop], *, speed_mm_s: float = 1200.0
    ) -> Cue:
        """Send somebody along a route without waiting for its end; see `begin`."""
        spots = [{"at_mm": list(at_mm), "dwell_s": dwell_s} for at_mm, dwell_s in route]
        return await self.begin(
            do="walk", person=person, floor=floor, route=spots, speed_mm_s=speed_mm_s
        )

    async def walk(
        self, person: str, floor: str, route: Sequence[Stop], *, speed_mm_s: float = 1200.0
    ) -> Times:
        """Send somebody along a route and wait for its end; see `Cue.times` for errors."""
        return await (await self.begin_walk(person, floor, route, speed_mm_s=speed_mm_s)).times()

    async def sit(self, person: str, *, seconds: float = 0.0) -> Times:
        """Let somebody sit where they are, and wait `seconds` of house time; they stay sitting."""
        return await (await self.begin(do="sit", person=person, seconds=seconds)).times()

    async def leave(self, person: str) -> Times:
        """Let somebody leave the house."""
        return await (await self.begin(do="leave", person=person)).times()

    async def doors(self, *, opened: bool, room: str | None = None) -> Times:
        """Open or shut the doors of a room, or of the whole house."""
        return await (await self.begin(do="doors", room=room, open=opened)).times()

    async def _listen(self) -> None:
        with contextlib.suppress(ConnectionError):
            while line := await self._reader.readline():
                message = json.loads(line)
                cue = self._cues.get(message["id"])
                if cue is not None and cue.hear(message):
                    del self._cues[message["id"]]
        self._gone = _gone(self._host, self._port)
        for cue in self._cues.values():
            cue.fail(self._gone)


def _gone(host: str, port: int) -> LinkError:
    return LinkError(
        "the simulated house doesn't answer.",
        subject=f"{host}:{port}",
        stands="Nobody in it moves on.",
        next_step="Start the simulator again.",
    )
