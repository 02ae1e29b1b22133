"""Whose turn it is: few requests at a time for each unit, and a bounded number of units at once.

A unit that doesn't answer gives its place among the units up after a while, though it goes on being waited
for: a house full of silent units would hold up those that answer.
"""

import asyncio
from collections import defaultdict
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fleet.link.limits import Limits


class Courtesy:
    """The turns of a visit."""

    def __init__(self, limits: Limits) -> None:
        """Start with nobody waiting."""
        self._patience_s = limits.patience_s
        self._units = asyncio.Semaphore(limits.units_at_once)
        self._turns = defaultdict[str, asyncio.Semaphore](lambda: asyncio.Semaphore(1))

    def allow(self, origin: str, requests_at_once: int) -> None:
        """Let a unit be asked several things at a time, as its description says."""
        self._turns[origin] = asyncio.Semaphore(requests_at_once)

    @asynccontextmanager
    async def turn(self, origin: str) -> AsyncIterator[None]:
        """Wait for a unit's turn, then for a place among the units."""
        # In this order: whoever waits for its own unit takes no place away from another.
        async with self._turns[origin]:
            await self._units.acquire()
            place = _Place(self._units)
            early = asyncio.get_running_loop().call_later(self._patience_s, place.give_up)
            try:
                yield
            finally:
                early.cancel()
                place.give_up()


class _Place:
    """A place among the units, given up once."""

    def __init__(self, units: asyncio.Semaphore) -> None:
        self._units: asyncio.Semaphore | None = units

    def give_up(self) -> None:
        """Give the place to whoever waits for one."""
        if self._units is not None:
            self._units.release()
        self._units = None
