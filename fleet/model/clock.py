"""Time as it is handed to everything that needs it.

Nothing in the program asks the machine for the time but the one clock that the start makes; a demo
house runs n times faster by being given a `HouseClock` of that speed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """What tells the time of the house.

    Attributes:
        speed: house seconds a wall second; 1 but in a demo.
    """

    @property
    def speed(self) -> float:
        """House seconds a wall second."""
        ...

    def now(self) -> datetime:
        """Return the house time, UTC."""
        ...

    def monotonic_s(self) -> float:
        """Return house seconds from a fixed start, never stepping back."""
        ...


@dataclass(frozen=True, slots=True)
class HouseClock:
    """A clock that runs `speed` times as fast as the wall, from `started` on.

    Attributes:
        started: the house time at wall reading `started_wall_s`, UTC.
        started_wall_s: the monotonic wall reading, s, at `started`.
        read_wall_s: reads the machine's monotonic clock, s.
        speed: house seconds a wall second.
    """

    started: datetime
    started_wall_s: float
    read_wall_s: Callable[[], float]
    speed: float = 1.0

    def now(self) -> datetime:
        """Return the house time, UTC."""
        return self.started + timedelta(seconds=self.monotonic_s())

    def monotonic_s(self) -> float:
        """Return house seconds since the start."""
        return (self.read_wall_s() - self.started_wall_s) * self.speed


def to_rfc3339(moment: datetime) -> str:
    """Write a moment as RFC 3339 in UTC with milliseconds, for example 2026-11-25T10:00:00.000Z."""
    text = moment.astimezone(UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")


def from_rfc3339(text: str) -> datetime:
    """Read an RFC 3339 time into UTC; a leap second (60) counts as the last of its minute.

    Raises:
        ValueError: the text is no RFC 3339 time with an offset.
    """
    moment = datetime.fromisoformat(text.replace(":60", ":59", 1) if ":60" in text[16:20] else text)
    if moment.tzinfo is None:
        raise ValueError(f"{text!r} has no offset from UTC")
    return moment.astimezone(UTC)
