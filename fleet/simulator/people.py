"""People in the house: where somebody who follows a route, sits or stands is, tick by tick."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleet.simulator.figures import TICKS_A_SECOND
from fleet.simulator.radar import Body

STANDING_MM = 1100.0
SITTING_MM = 850.0
"""Height of the point that reflects most."""

SWAY_MM = 10.0
SWAY_PERIOD_S = 4.0


@dataclass(frozen=True, slots=True)
class Stop:
    """A point of a route and how long the walker stays there."""

    at_mm: tuple[float, float]
    dwell_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight piece of a route, or a stay, between two moments since the start of the route."""

    start_s: float
    end_s: float
    start: tuple[float, float]
    end: tuple[float, float]

    def at(self, since_s: float) -> tuple[float, float, float, float]:
        """Return x, y in mm and the speed along them in mm/s, `since_s` after the route's start."""
        lasts_s = self.end_s - self.start_s
        if lasts_s <= 0:
            return (*self.end, 0.0, 0.0)
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        share = min(1.0, max(0.0, (since_s - self.start_s) / lasts_s))
        x, y = self.start[0] + share * dx, self.start[1] + share * dy
        return x, y, dx / lasts_s, dy / lasts_s


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody on a floor since the tick of the last direction to them.

    Attributes:
        number: tells people apart.
        floor: key of the floor.
        since_tick: when the direction began.
        legs: what they do from then on; they stay at the end of the last.
        sits: they sit at the end rather than stand.
    """

    number: int
    floor: str
    since_tick: int
    legs: tuple[Leg, ...]
    sits: bool = False

    @property
    def ends_tick(self) -> int:
        """Return the tick at which the last leg is over."""
        return self.since_tick + math.ceil(self.legs[-1].end_s * TICKS_A_SECOND)

    def place_at(self, tick: int) -> tuple[float, float]:
        """Return x, y in mm at a tick."""
        return self._moving_at(tick)[:2]

    def body_at(self, tick: int) -> Body:
        """Return what radar meets at a tick."""
        x, y, velocity_x, velocity_y = self._moving_at(tick)
        if not self.sits:
            return Body(self.number, x, y, velocity_x, velocity_y, STANDING_MM)
        phase = 2 * math.pi * (tick - self.since_tick) / TICKS_A_SECOND / SWAY_PERIOD_S
        sway = SWAY_MM * math.sin(phase)
        return Body(self.number, x + sway, y, 0.0, 0.0, SITTING_MM, tick - self.since_tick)

    def seated(self, tick: int, lasts_s: float) -> "Person":
        """Return the same person, sitting where they are from a tick on."""
        here = self.place_at(tick)
        stay = Leg(0.0, lasts_s, here, here)
        return replace(self, since_tick=tick, legs=(stay,), sits=True)

    def _moving_at(self, tick: int) -> tuple[float, float, float, float]:
        since_s = (tick - self.since_tick) / TICKS_A_SECOND
        leg = next((leg for leg in self.legs if since_s < leg.end_s), None)
        return leg.at(since_s) if leg else (*self.legs[-1].end, 0.0, 0.0)


def route_of(
    start: tuple[float, float] | None, stops: Sequence[Stop], speed_mm_s: float
) -> tuple[Leg, ...]:
    """Lay a route out in time.

    Args:
        start: where the walker is; None: they appear at the first stop.
        stops: at least one.
        speed_mm_s: walking speed between stops.
    """
    legs: list[Leg] = []
    clock_s, here = 0.0, start or stops[0].at_mm
    for stop in stops:
        walk_s = math.dist(here, stop.at_mm) / speed_mm_s
        legs.append(Leg(clock_s, clock_s + walk_s, here, stop.at_mm))
        clock_s += walk_s
        here = stop.at_mm
        if stop.dwell_s:
            legs.append(Leg(clock_s, clock_s + stop.dwell_s, here, here))
            clock_s += stop.dwell_s
    return tuple(legs)
