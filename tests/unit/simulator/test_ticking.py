"""The scheduler: tick by tick in house time, and what it does when it is late."""

import asyncio
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from fleet.simulator.ticking import keep_ticking
from tests.unit.simulator.small_house import PATIENCE_S, running

START = datetime(2026, 11, 25, 10, tzinfo=UTC)


class EnoughError(Exception):
    """Ends the ticking."""


@dataclass
class LateClock:
    """A clock that stands still, then finds that seconds have gone by."""

    late_s: float
    speed: float = 1000.0
    readings: int = field(default=0)

    def monotonic_s(self) -> float:
        self.readings += 1
        return 0.0 if self.readings == 1 else self.late_s

    def now(self) -> datetime:
        return START + timedelta(seconds=self.monotonic_s())


def ticks_of(clock, count) -> list[tuple[int, str]]:
    ticks = []

    def step(tick, time):
        ticks.append((tick, time))
        if len(ticks) == count:
            raise EnoughError

    with pytest.raises(EnoughError):
        asyncio.run(keep_ticking(clock, step))
    return ticks


def test_a_late_loop_lives_every_tick_with_the_time_that_it_should_have_had():
    clock = LateClock(late_s=5.0)
    ticks = ticks_of(clock, 30)
    assert [tick for tick, _ in ticks] == list(range(30))
    first = datetime.fromisoformat(ticks[0][1])
    spans = [(datetime.fromisoformat(time) - first).total_seconds() for _, time in ticks]
    assert spans == pytest.approx([tick / 10 for tick in range(30)])


def test_a_failure_of_the_ticks_ends_the_house():
    async def check():
        async with running() as (place, _):
            place.world.units = None
            await asyncio.sleep(PATIENCE_S)

    with pytest.raises(TypeError):
        asyncio.run(check())


def test_an_error_of_who_runs_the_house_comes_out_as_it_is():
    async def check():
        async with running():
            raise EnoughError

    with pytest.raises(EnoughError):
        asyncio.run(check())
