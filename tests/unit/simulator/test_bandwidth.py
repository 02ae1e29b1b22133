"""The bandwidth that a house's units share."""

import asyncio
import time
from dataclasses import dataclass, replace

import pytest

from fleet.simulator import names
from fleet.simulator.bandwidth import BURST_S, Bandwidth
from fleet.simulator.truth import Truth
from tests.unit.simulator.small_house import TRACKING, at, running


@dataclass
class Frozen:
    """A clock that stands where it is put."""

    now_s: float = 100.0
    speed: float = 2.0

    def monotonic_s(self) -> float:
        return self.now_s * self.speed


async def test_without_a_bound_nothing_is_booked():
    line = Bandwidth(0, Frozen())
    await line.carry(10**9)
    assert line.free_at_s == 0.0


async def test_octets_of_all_units_are_booked_one_after_another(monkeypatch):
    waited = []

    async def note(seconds):
        waited.append(seconds)

    monkeypatch.setattr(asyncio, "sleep", note)
    line = Bandwidth(8000, Frozen())
    for _ in range(3):
        await line.carry(1000)
    assert waited == pytest.approx([1 - BURST_S, 2 - BURST_S, 3 - BURST_S])


async def test_a_line_that_stood_idle_makes_up_for_little(monkeypatch):
    clock = Frozen()
    line = Bandwidth(8000, clock)
    line.free_at_s = 5.0
    await line.carry(int(1000 * BURST_S))
    assert line.free_at_s == pytest.approx(clock.now_s)


async def test_three_units_together_get_no_more_than_the_bandwidth():
    octets, bits_a_second = 100_000, 4_000_000
    units = tuple(replace(TRACKING, serial=f"N-{n}") for n in range(3))
    async with running(Truth(units), bandwidth_bps=bits_a_second) as (place, session):

        async def upload(unit):
            url = at(place, f"/actions/{names.TAKE_IMAGE}", unit)
            async with session.post(url, data=b"x" * octets) as answer:
                assert answer.status == 200

        began_s = time.monotonic()
        await asyncio.gather(*(upload(unit) for unit in range(3)))
        took_s = time.monotonic() - began_s
    least_s = 3 * octets * 8 / bits_a_second
    assert least_s - BURST_S <= took_s < 2 * least_s
