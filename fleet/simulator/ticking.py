"""The one scheduler of a house: a tick every tenth of a second of house time.

A loop that is late catches up tick by tick, each with the time that it should have had, so no report
and no number is lost; between two ticks the other tasks have their turn.
"""

import asyncio
from collections.abc import Callable
from datetime import timedelta

from fleet.model.clock import Clock, to_rfc3339
from fleet.simulator.figures import TICK_S


async def keep_ticking(clock: Clock, step: Callable[[int, str], None]) -> None:
    """Call `step` with the number and the house time of each tick, for ever."""
    start_s, started = clock.monotonic_s(), clock.now()
    tick = 0
    while True:
        early_s = start_s + tick * TICK_S - clock.monotonic_s()
        await asyncio.sleep(max(0.0, early_s / clock.speed))
        step(tick, to_rfc3339(started + timedelta(seconds=tick * TICK_S)))
        tick += 1
