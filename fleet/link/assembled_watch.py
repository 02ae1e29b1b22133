"""All parts of one property watched at once, and what can be put together of them as they come."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import aclosing
from dataclasses import dataclass
from typing import Any, Protocol

from fleet.description.assembly import entries_of, names_needed
from fleet.description.documents import Json, parse_json
from fleet.description.gathering import Gathering
from fleet.description.limits import MAX_REPORT_BYTES
from fleet.description.things import Affordance, Thing
from fleet.link.arrivals import Arrival, ReadValue
from fleet.model.errors import UnitError, WalkdownError

_WAITING = 256  # parts that came and weren't looked at yet; then the parts wait


class WatchedLink(Protocol):
    """What of a unit's link is needed here; see `fleet.link.assembled.PartsLink`."""

    thing: Thing
    subject: str

    async def read(self, affordance: Affordance) -> ReadValue:
        """Read a property."""
        ...

    def observe(
        self, affordance: Affordance, last_event_id: str = ""
    ) -> AsyncIterator[list[Arrival]]:
        """Watch a property."""
        ...


@dataclass(frozen=True, slots=True)
class _Came:
    """A part's value, and when it came; not `live` where it was asked for, and may be old."""

    name: str
    value: Json
    at_s: float
    live: bool = True


@dataclass(frozen=True, slots=True)
class _Nonsense:
    """What a part sent and nobody can read: handed on as it came, so that it is counted."""

    data: bytes


@dataclass(frozen=True, slots=True)
class _Ended:
    """A part's watch is over, of itself (None) or by an error."""

    reason: WalkdownError | None


class Watch:
    """The running watch of one property with parts; close it."""

    def __init__(
        self, link: WatchedLink, affordance: Affordance, now_s: Callable[[], float]
    ) -> None:
        """Begin to watch."""
        self._link, self._now_s = link, now_s
        self._gathering = Gathering(affordance)
        self._queue: asyncio.Queue[_Came | _Nonsense | _Ended] = asyncio.Queue(_WAITING)
        self._needed = _needed(affordance)
        self._heard: set[str] = set()
        names = names_needed(affordance)
        counts = {part.count for part in affordance.parts if part.count}
        self._tasks = [asyncio.create_task(self._watch(name)) for name in names]
        self._tasks += [asyncio.create_task(self._ask(name)) for name in names if name in counts]

    async def arrivals(self) -> AsyncIterator[list[Arrival]]:
        """Yield what is put together; ends when a part that is needed does.

        Raises:
            LinkError, UnitError: a part that is needed can't be watched any more.
        """
        while True:
            made: list[Arrival] = []
            ended: _Ended | None = None
            for came in await self._batch():
                if isinstance(came, _Ended):
                    ended = came
                    break
                made += self._made(came)
            if made:
                yield made
            if ended is not None:
                if ended.reason is not None:
                    raise ended.reason
                return

    async def close(self) -> None:
        """End every part's watch and wait until it is over."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _batch(self) -> list[_Came | _Nonsense | _Ended]:
        batch = [await self._queue.get()]
        while not self._queue.empty():
            batch.append(self._queue.get_nowait())
        return batch

    def _made(self, came: _Came | _Nonsense) -> list[Arrival]:
        if isinstance(came, _Nonsense):
            return [Arrival(came.data)]
        due = self._gathering.take(came.name, came.value, came.at_s)
        # A count that was asked for may let live places stand, but never says that nobody is there.
        if not due or not (came.live or self._gathering.has_entry(came.at_s)):
            return []
        whole = json.dumps(self._gathering.whole(came.at_s), ensure_ascii=False)
        return [Arrival(whole.encode(), part_ages_s=self._gathering.ages_s(came.at_s))]

    async def _watch(self, name: str) -> None:
        reason: WalkdownError | None = None
        try:
            await self._watch_part(name)
        except WalkdownError as ended:
            reason = ended
        # A part that the report can do without may be refused; a unit that is gone ends all of it.
        if name in self._needed or not isinstance(reason, UnitError):
            await self._queue.put(_Ended(reason))

    async def _watch_part(self, name: str) -> None:
        stream: Any = self._link.observe(self._link.thing.properties[name])
        async with aclosing(stream) as arrivals:
            async for arrived in arrivals:
                for arrival in arrived:
                    self._heard.add(name)
                    await self._queue.put(self._read(name, arrival.data))

    def _read(self, name: str, data: bytes) -> _Came | _Nonsense:
        try:
            value = parse_json(data, subject=self._link.subject, limit_bytes=MAX_REPORT_BYTES)
        except UnitError:
            return _Nonsense(data)
        return _Came(name, value, self._now_s())

    async def _ask(self, name: str) -> None:
        """Ask once for what a condition says; what came by itself meanwhile is newer."""
        try:
            value = (await self._link.read(self._link.thing.properties[name])).value
        except WalkdownError:
            return  # its watch will tell
        if name not in self._heard:
            await self._queue.put(_Came(name, value, self._now_s(), live=False))


def _needed(affordance: Affordance) -> frozenset[str]:
    """Return the names of the parts without which there is no report."""
    counts = {part.count for part in affordance.parts if part.count}
    places = {name for entry in entries_of(affordance) for name in entry.places}
    return frozenset(counts | places) or frozenset(names_needed(affordance))
