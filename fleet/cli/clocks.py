"""The one place where a real clock is made; everything else is handed one."""

import time
from datetime import UTC, datetime

from fleet.model.clock import HouseClock


def real_clock(speed: float = 1.0) -> HouseClock:
    """Return a clock that starts now and runs `speed` times as fast as the wall."""
    return HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic, speed)
