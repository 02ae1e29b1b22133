"""Hearing how far a unit's installation got, whatever becomes of the connection.

The unit's stream of progress is kept open where it offers one, or else it is read again and again.
Streams are reset when the unit starts anew, without a goodbye, so what was heard last is never taken for
what stands: each look reads.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from fleet.description.documents import parse_json
from fleet.description.vocabulary import FIRMWARE_INSTALLATION
from fleet.engine.installation_values import installation_from, read_installation
from fleet.engine.watching import jittered
from fleet.link.unit_link import UnitLink
from fleet.model.clock import Clock
from fleet.model.errors import WalkdownError
from fleet.model.firmware import Installation

REOPEN_S = 1.0
SOONEST_S = 0.05

Tell = Callable[[Installation], None]
LinkTo = Callable[[], UnitLink]


class InstallationWatch:
    """One unit's progress.

    Attributes:
        latest: as it was heard last.
        changed_s: house time at which it last said something new, or answered again.
    """

    def __init__(self, link: LinkTo, clock: Clock, tell: Tell) -> None:
        """Have nothing heard; `tell` is called with whatever is new."""
        self.latest = Installation()
        self.changed_s = clock.monotonic_s()
        self._link, self._clock, self._tell = link, clock, tell
        self._news = asyncio.Event()
        self._answered = True

    @property
    def silent_s(self) -> float:
        """House seconds since anything new was heard."""
        return self._clock.monotonic_s() - self.changed_s

    @asynccontextmanager
    async def listening(self) -> AsyncIterator[None]:
        """Listen while the context lasts."""
        task = asyncio.ensure_future(self._listen())
        try:
            yield
        finally:
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await task

    async def look(self) -> bool:
        """Read now; return whether the unit answered."""
        try:
            now = await read_installation(self._link())
        except WalkdownError:
            if self._answered:
                self._mark()
            self._answered = False
            return False
        if not self._answered:
            self._mark()
        self._answered = True
        self._take(now)
        return True

    async def news(self, within_s: float) -> None:
        """Wait for something new, for so many house seconds at most."""
        self._news.clear()
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(max(SOONEST_S, within_s / self._clock.speed)):
                await self._news.wait()

    def forget(self) -> None:
        """Count silence from now on."""
        self._mark()

    async def _listen(self) -> None:
        while True:
            with contextlib.suppress(WalkdownError):
                await self._hear(self._link())
            self._news.set()
            await asyncio.sleep(max(SOONEST_S, jittered(REOPEN_S) / self._clock.speed))

    async def _hear(self, link: UnitLink) -> None:
        """Hear one stream to its end."""
        affordance = link.need_property(FIRMWARE_INSTALLATION)
        async for arrivals in link.observe(affordance):
            if not arrivals:
                self._take(await read_installation(link))
            for arrival in arrivals:
                said = parse_json(arrival.data, subject=link.subject)
                self._take(installation_from(affordance, said))

    def _take(self, now: Installation) -> None:
        if now == self.latest:
            return
        self.latest = now
        self._mark()
        self._news.set()
        self._tell(now)

    def _mark(self) -> None:
        self.changed_s = self._clock.monotonic_s()
