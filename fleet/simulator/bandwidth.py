"""The bandwidth that all units of a house share: one bucket of tokens for every octet of an image.

Octets are booked one after another on a line that carries so many bits a second of the wall, and whoever
took them waits until they have gone through. So many units together never get more than one alone.
"""

import asyncio
from dataclasses import dataclass

from fleet.model.clock import Clock

BURST_S = 0.05
"""Wall seconds that the line may make up for after it stood idle, as a sleep never ends on time."""


@dataclass(slots=True)
class Bandwidth:
    """A line of bounded speed.

    Attributes:
        bits_a_second: of the wall's seconds; 0 for no bound.
        clock: tells the time.
        free_at_s: when what is booked has gone through, wall seconds of that clock.
    """

    bits_a_second: int
    clock: Clock
    free_at_s: float = 0.0

    async def carry(self, octets: int) -> None:
        """Wait until so many octets have gone through."""
        if not self.bits_a_second:
            return
        now_s = self.clock.monotonic_s() / self.clock.speed
        begin_s = max(self.free_at_s, now_s - BURST_S)
        self.free_at_s = begin_s + octets * 8 / self.bits_a_second
        await asyncio.sleep(max(0.0, self.free_at_s - now_s))
